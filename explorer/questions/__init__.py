"""The questions that a user may ask, a folder each: computation, words, tables, pictures, and the entry `answer`.

They are a level of their own because `explorer.rank`, `explorer.solve` … are public functions.
"""

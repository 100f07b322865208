"""What is wrong with how something is asked; by itself, so that help needs nothing else."""


class UsageError(ValueError):
    """A command line that can't be read, or asks for what can't be done; the message is one sentence."""

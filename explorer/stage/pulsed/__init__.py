"""Pairs on a coil or a capacitor: what a pulse comes to, and the march with the means of its train."""

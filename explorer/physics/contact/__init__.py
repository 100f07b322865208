"""Making contact: breakdown, cool layers, cathodes, recombination, pulses, erosion and warming; see CONTACT.md."""

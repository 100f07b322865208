"""From firings to what is known: what is computed of them, how likely their readings are, and how each fits."""

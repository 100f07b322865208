"""How a vehicle climbs: thrust, drag and gravity from the pad to the apogee."""

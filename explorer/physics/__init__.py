"""Pure formulas in SI: gas composition, cross sections, conductivity, flow, electrodes, losses, magnet."""

"""What is fed to a chamber, as it is set at the stand: orifices, and gases by their components."""

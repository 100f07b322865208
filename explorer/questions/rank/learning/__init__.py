"""What a test could teach: readings simulated, what knowing an input would leave, which measurement to make first."""

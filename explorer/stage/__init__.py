"""The model of one stage: design, property table, march through the channel, circuit, operating point."""

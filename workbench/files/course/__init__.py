"""What the course of channels over time tells of them, whatever their names and units say."""

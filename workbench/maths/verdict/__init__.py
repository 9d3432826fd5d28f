"""What the evidence means for a cell, a correction or an approval; pulls. Estimates nothing."""

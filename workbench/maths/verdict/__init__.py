"""What evidence means for a cell, a correction, an approval; pulls and cautions. Estimates nothing anew."""

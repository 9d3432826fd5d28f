"""The log as lanes over time, and watched folders. Draws no table."""

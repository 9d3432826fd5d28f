"""Exports: tables with their provenance, reports. Reads only what it writes."""

"""What leaves the workbench: tables with their provenance, reports. Reads nothing but what it writes."""

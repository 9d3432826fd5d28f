"""The log as lanes over time, and folders that are watched for new ones. No table is drawn here."""

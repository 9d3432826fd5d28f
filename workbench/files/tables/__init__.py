"""Tables from and to CSV, spreadsheets and the clipboard. No logs."""

"""What a command is, its parameters and answers, and how a revision is made. No command stands here."""

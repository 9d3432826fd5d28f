"""The declaration of commands: parameters, answers, making a revision. No command belongs here."""

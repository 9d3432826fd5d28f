"""What in a log could hurt an engine, or makes its evidence worth less."""

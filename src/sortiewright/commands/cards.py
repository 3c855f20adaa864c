"""x."""

def cards() -> None:
    """Placeholder."""

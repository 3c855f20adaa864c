"""x."""

def plan() -> None:
    """Placeholder."""

"""x."""

def demo() -> None:
    """Placeholder."""

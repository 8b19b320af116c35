"""What the services hand back: frozen values, no text."""

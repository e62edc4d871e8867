"""How dates and numbers are written, where Django's own habit could be misread here."""

"""The nouns of the trade: frozen values without algorithms."""

"""Catalogues of messages, one folder a language, and how they are renewed."""

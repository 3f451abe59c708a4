"""Somebody else's plan: what it draws, what each layer stands for, its grades and its trees."""

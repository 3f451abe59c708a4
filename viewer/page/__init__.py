"""Paper and pens: the page, its letters and labels, its colours, and the sheet with its scale."""

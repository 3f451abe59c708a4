"""The page that shows a yard in a browser: as one file to send, and as the live page; both draw with the same code."""

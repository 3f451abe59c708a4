"""Files of measurements, one module a format; `read.py` chooses by the file's ending."""

"""What was measured: tables, level books, tapes, offsets, codes and files of other formats, as points and lines."""

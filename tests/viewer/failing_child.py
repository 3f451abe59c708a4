"""A drawing process that ends in an error of its own."""

raise SystemExit("no room on the device")

"""The library: site, ground, proposal, earthwork, review. It never prints, draws or knows a screen."""

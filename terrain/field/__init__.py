"""What the crew takes into the yard and brings back: stakes, what was built, where to shoot next."""

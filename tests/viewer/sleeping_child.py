"""A drawing process that never comes back."""

import time

time.sleep(60)

"""The local page: a berm is shaped in the browser, worked out here, and saved to the site file."""

from .at_home import shown_in_notebooks as shown_in_notebooks

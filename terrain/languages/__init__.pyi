from .retold import Retold as Retold, names_in as names_in

"""Cut and fill by place and by measure."""

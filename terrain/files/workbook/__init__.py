"""The soil order of a yard: its flow, its what-if, its words, and the files an estimator sends and keeps."""

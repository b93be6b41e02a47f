"""The family's page: the record in plain words, in the family's language."""

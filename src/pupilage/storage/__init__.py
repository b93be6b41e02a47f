"""The records: models, queries that turn rows into core's types, migrations, backup."""

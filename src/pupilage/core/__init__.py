"""The pure room: rules of the trade and of mathematics. No framework, no files, no network, no clock."""

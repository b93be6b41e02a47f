"""From the tries of a dog to estimates, decisions and forecasts.

Rooms import downwards only: outlook, thresholds and rewards ask criterion; that asks worth; worth and pooling ask the
posterior, and all of them the record.
"""

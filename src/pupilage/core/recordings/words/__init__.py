"""Words of one trainer, learned from three samples each: embeddings in, suggested events out.

`frames` says where an embedding stands in time; `samples` cuts words out of a recording; `voicing` and `tape` make the
sound that is learned from; `model` learns and scores; `peaks` turns scores into events; `loudness` gives floor, rises
and runs of talk. Sound is 16 kHz mono float32; the embedding itself is passed in as a function.
"""

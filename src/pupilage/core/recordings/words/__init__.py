"""Words of one trainer, learned from three samples each: embeddings in, suggested events out.

`frames` says where an embedding stands in time; `samples` cuts words out of a recording; `voicing`, `surroundings` and
`tape` make the sound that is learned from, `lessons` the numbers that are kept of it; `model` learns and scores;
`peaks` turns scores into events; `loudness` gives floor, rises and runs of talk; `look_alikes` tells which words are
taken for each other; `calibration` makes chances of confidences. Sound is 16 kHz mono float32; the embedding is passed
in as a function.
"""

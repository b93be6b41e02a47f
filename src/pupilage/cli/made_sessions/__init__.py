"""Training sessions that never happened, with their truth: voices of speech programs, rooms, noise, AAC.

For the benchmark and tests only. The voices come from programs of the distribution (flite, espeak-ng), which are found
at run time: on Debian `apt-get install flite espeak-ng asterisk-core-sounds-en-wav asterisk-core-sounds-fr-wav`.
"""

"""How the ear takes the sound of the program: loudness, audibility in noise, just noticeable steps.

It shares no code with the program. The sound comes from the program's own WAV files; what the ear
does with it comes from standards, papers and general packages, each named beside its formula.
"From memory" marks a figure that nobody looked up for this work. No person listened.
"""

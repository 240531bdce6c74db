"""Makes the recogniser's model: texts, synthetic speakers, training, export, evaluation. Never imported at run time.

`python -m trainer.ears.training synthesize|train|export|evaluate`. May import `phraseology`, the rest of
`trainer.ears`, and what the extra `patternvoice[train]` installs; torch is imported only by the modules that
compute with it. Making texts needs `phraseology`; synthesis and training do not, so that a machine with an
accelerator needs no more than this package, numpy, torch and the synthesizers.
"""

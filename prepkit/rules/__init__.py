"""Rules: what each kind of line gives for a baby, and whether the procedure is for this baby at all."""

"""The rule of a `dose` line, from a dose per kg to a volume at a syringe's mark, and what it is made of.

The dose that is due (`course`), for each product in stock (`candidates`) at each of its strengths (`strength`),
measured in a syringe (`syringe`) and taken from containers (`vials`, `whole_containers`), gives a `draw_up`.
"""

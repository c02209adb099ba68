"""The list and its lines: listed, ordered, ticked, set aside; and what a new list does to the marks on the old one."""

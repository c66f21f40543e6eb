"""Tables and pages that leave the program."""

"""What one offcut can give (cutting model, sections 4 to 7 and 9).

Turns offcuts into alternatives: strips, width added, loss, leftovers. Imports only `inventory.core`
and numpy; which offcuts a board takes is decided in `inventory.fill`.
"""

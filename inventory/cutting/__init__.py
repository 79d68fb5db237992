"""What ONE offcut can give (cutting model, sections 4 to 7 and 9).

Turns offcuts into offers: strips, width added, loss, remainders. Knows nothing
of which offcut is best: that is `inventory.fill`.
"""

"""One glue-up filled from the rack: request, rack table, item classes and the plan (cutting model, sections 7 to 10).

Turns the alternatives of `inventory.cutting` into problems for `inventory.solver`, and its solutions into a plan.
"""

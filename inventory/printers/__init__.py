"""Printers as CUPS knows them: which there are, which paper they take, what becomes of a job.

Is given a PDF and millimeters.
"""

"""The demo shop: an invented stair- and door-maker's rack, with its photos, boards and history.

Everything here is made up: the shop, its locations, its boards and its pictures. The demo is made by the same
services that the web and the command line call; it must not use the database directly.
"""

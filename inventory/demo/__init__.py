"""The demo shop: an invented stair- and door-maker's rack, with photos drawn from numbers.

Everything here is made up: the shop, its places, its boards and its pictures.
It uses the services as the web and the command line do and knows no database.
"""

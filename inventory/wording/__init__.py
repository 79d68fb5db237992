"""Every sentence about a plan, shared by the web pages and the command line."""

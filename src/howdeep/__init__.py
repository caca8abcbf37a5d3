"""howdeep: how deep must this old engine be opened?"""

__version__ = "0.1.0"

"""prepkit: from one weight and one gestation to a complete, checked tray for a neonatal procedure."""

__version__ = "0.1.0"

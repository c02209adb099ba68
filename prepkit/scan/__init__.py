"""Scanned and typed product codes: GTIN, batch, expiry. It knows no kit, no ward and no clock.

May import: the standard library; biip, and only where a scan is really read: it takes long to load.
"""

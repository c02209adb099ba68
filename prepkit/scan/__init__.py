"""Product codes, scanned or typed: GTIN, batch, expiry. It knows no kit, no ward and no clock."""

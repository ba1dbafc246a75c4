"""Labels and the record behind them, from pigment bottle through tube, pouch and steam steriliser to the client."""

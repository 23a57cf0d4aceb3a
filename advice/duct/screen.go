package duct

// ScreenSquare is K on the approach head of a perforated plate or square-edged
// screen with a share of open area. Source: Blevins (1984).
func ScreenSquare(open float64) float64 { return screenSquare.at(open) }

// ScreenWire is K on the approach head of a round-wire screen: beta (1-a^2)/a^2
// with a the share of open area and beta from the Reynolds number of the wire.
// Source: Blevins (1984).
func ScreenWire(open, re float64) float64 {
	return screenWire.at(re) * (1 - open*open) / (open * open)
}

// Grille is K on the approach head of a thick square-edged grille,
// (0.5 (1-a) + 1 - a^2)/a^2. Source: Blevins (1984).
func Grille(open float64) float64 {
	return (0.5*(1-open) + 1 - open*open) / (open * open)
}

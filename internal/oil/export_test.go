package oil

// Law returns A and B of log10 log10(ν + 0.7) = A − B log10 T.
func (l Liquid) Law() (a, b float64) { return l.a, l.b }

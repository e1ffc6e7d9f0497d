package supply

// RiseAt returns the pressure that pumps add at a flow, Pa: FlowAt solved for the rise. A flow outside the tests is
// a *RangeError.
func RiseAt(pumps Source, flow, voltage float64) (float64, Note, error) {
	c, err := start(pumps, voltage)
	if err != nil {
		return 0, 0, err
	}
	lo, hi, _ := c.span()
	if least, most := c.flow(hi), c.flow(lo); !(flow >= least && flow <= most) {
		return 0, 0, &RangeError{"flow of the pumps", "m³/s", flow, least, most}
	}
	rise, err := c.rise(flow)
	if err != nil {
		return 0, 0, err
	}
	return rise, c.notes(rise), nil
}

package routine

import "sagitta/batch"

// Carriage finds the indicator and the position encoder of the carriage that is swept: the encoder, and the indicator
// on the same line as it, else the first one that sends by itself. Nil is what there is none of.
func Carriage(gauges []batch.Gauge) (indicator, encoder *batch.Gauge) {
	for i := range gauges {
		if g := &gauges[i]; g.Serves(batch.Position) && g.Capture != "key" {
			encoder = g
			break
		}
	}
	if encoder == nil {
		return nil, nil
	}
	for i := range gauges {
		g := &gauges[i]
		if !g.Serves(batch.Crown) || g.Capture == "key" {
			continue
		}
		if SameLine(g, encoder) {
			return g, encoder
		}
		if indicator == nil {
			indicator = g
		}
	}
	return indicator, encoder
}

// SameLine says that two gauges send over one port, each on its own channel.
func SameLine(a, b *batch.Gauge) bool {
	if a.USBVendor != "" || b.USBVendor != "" {
		return a.USBVendor == b.USBVendor && a.USBProduct == b.USBProduct && a.USBSerial == b.USBSerial
	}
	return a.Path == b.Path
}

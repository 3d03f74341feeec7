package batch

// NeckReport is one neck of a batch with everything that was decided about it.
type NeckReport struct {
	NeckRow
	Inspections []InspectionReport // in attempt order
	Doubts      []Doubt            // that stand on it
}

// InspectionReport is one attempt with its newest verdict that counts.
type InspectionReport struct {
	Inspection
	Verdict *Verdict // nil before one
}

// ReadingReport is one reading with the neck and the attempt it belongs to.
type ReadingReport struct {
	Serial    string
	Attempt   int
	GaugeName string // empty: typed by hand
	Reading
}

// ReworkReport is one rework action with the neck and the attempt whose advice it follows.
type ReworkReport struct {
	Serial string
	ReworkAction
	Attempt int
}

// GaugeReport is a gauge with all its checks and its certificates, oldest first.
type GaugeReport struct {
	Gauge
	Checks       []GaugeCheck
	Certificates []Certificate
}

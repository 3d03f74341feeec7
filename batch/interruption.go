package batch

// InterruptionKind is how a laying ends.
type InterruptionKind string

// The ways that a laying ends.
const (
	NeckParked    InterruptionKind = "parked"
	NeckTaken     InterruptionKind = "taken off the bench" // with its verdict, and called back
	OtherNeck     InterruptionKind = "another neck"        // Of it
	CheckBetween  InterruptionKind = "gauge check"         // Of a gauge
	StudyBetween  InterruptionKind = "gauge study"         // Of a gauge
	StationBegun  InterruptionKind = "restart"
	GaugeLost     InterruptionKind = "gauge lost" // Of a gauge
	SaidToBeMoved InterruptionKind = "said to be moved"
	SeenToMove    InterruptionKind = "seen to have moved" // by its readings
)

// Interruption is what came between two layings of a neck.
type Interruption struct {
	Kind InterruptionKind
	Of   string // the gauge's name, or the other neck's serial number

	// Changed is what happened to the neck meanwhile ("its rod was turned", "the humidity changed by 6 % RH"), "" when nothing did; where
	// something did nothing is carried.
	Changed string
}

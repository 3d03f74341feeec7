package batch

import "time"

// AirDay is the mean humidity that was noted on one day.
type AirDay struct {
	At              time.Time // within the day
	HumidityPercent float64
}

package sweep

import (
	"math"
	"slices"
)

// Limits of a gauge's clock.
const (
	// even: where every pause is as long as it likes, its deviations add up, over n frames to about sqrt(n/12) times one of
	// them (a random walk about its mean); the lateness that a line adds is made up for by the next frame in time, however
	// long the frames were held. A stream whose median lateness is below this share of such a sum has a clock.
	even        = 0.3
	lagS        = 0.25 // s over which a first period is taken: longer than a line holds frames back as a rule
	slowlyS     = 1.0  // s over which the clock may be off its straight line: ten crossings of a crown
	steadyLeast = 50   // fewer frames tell nothing about a clock
)

// steady replaces arrival times by the even times at which the gauge must have measured. A gauge sends by its own clock;
// the line and the operating system deliver a frame a little late, by 1 to 20 ms, never early. At 45 mm/s a millisecond
// is 0.045 mm, and 15 micrometres of height on a crown's flank, so this decides the accuracy. Each frame gets a count (a
// lasting step in lateness is a frame that was lost), a straight line is fitted through times against counts without
// the latest, and a running median follows a clock that is not quite straight.
//
// What remains is one constant lateness, which calibrate finds. A stream that is not even keeps its times.
func steady(s []Sample) []Sample {
	if len(s) < steadyLeast {
		return s
	}
	whole := s[len(s)-1].AtS - s[0].AtS
	lag := max(8, min(len(s)/2, int(lagS*float64(len(s))/math.Max(whole, lagS))))
	spans := make([]float64, 0, len(s)-lag)
	for i := lag; i < len(s); i++ {
		spans = append(spans, (s[i].AtS-s[i-lag].AtS)/float64(lag))
	}
	period := median(spans)
	if !(period > 0) {
		return s
	}
	count := make([]float64, len(s))
	rest := make([]float64, len(s))
	for range 3 {
		number(s, period, count)
		start, step := trimmedLine(count, s)
		for i := range s {
			rest[i] = s[i].AtS - start - step*count[i]
		}
		period = step
	}
	off := make([]float64, len(s))
	var pauses float64 // sum of squares of what pauses are off their own
	slow := make([]float64, len(s))
	slowly := 2*int(math.Min(slowlyS/period/2, float64(len(s)))) + 1 // frames that came all at once show a period of nothing
	window := make([]float64, 0, slowly)                             // in order
	for i := -slowly / 2; i < len(rest); i++ {
		if in := i + slowly/2; in < len(rest) {
			k, _ := slices.BinarySearch(window, rest[in])
			window = slices.Insert(window, k, rest[in])
		}
		if out := i - slowly/2 - 1; out >= 0 {
			k, _ := slices.BinarySearch(window, rest[out])
			window = slices.Delete(window, k, k+1)
		}
		if i >= 0 {
			slow[i] = (window[(len(window)-1)/2] + window[len(window)/2]) / 2
			off[i] = math.Abs(rest[i] - slow[i])
			if i > 0 {
				pauses += (rest[i] - rest[i-1]) * (rest[i] - rest[i-1])
			}
		}
	}
	if n := float64(min(slowly, len(s))); median(off) > even*math.Sqrt(pauses/float64(len(s))*n/12) {
		return s
	}
	straight := make([]Sample, len(s))
	for i := range s {
		straight[i] = Sample{AtS: s[i].AtS - rest[i] + slow[i], MM: s[i].MM}
		if i > 0 { // a running median may step back by a little
			straight[i].AtS = math.Max(straight[i].AtS, straight[i-1].AtS+period/100)
		}
	}
	return straight
}

// inPairs says that both streams are two fields of one line.
func inPairs(a, b []Sample) bool {
	for i := range a {
		if len(a) != len(b) || a[i].AtS != b[i].AtS {
			return false
		}
	}
	return true
}

// counted gives the fields of one line times by their count alone: height and place belong together, and only how fast
// the carriage went is left to the times.
func counted(s []Sample) []Sample {
	period := (s[len(s)-1].AtS - s[0].AtS) / float64(len(s)-1)
	even := make([]Sample, len(s))
	for i := range s {
		even[i] = Sample{AtS: float64(i) * period, MM: s[i].MM}
	}
	return even
}

// number counts the frames as the gauge sent them. Lateness against even sending that no later frame makes up for is a
// frame lost on the way.
func number(s []Sample, period float64, count []float64) {
	least := make([]float64, len(s)) // least lateness from here on
	for i := len(s) - 1; i >= 0; i-- {
		least[i] = s[i].AtS - float64(i)*period
		if i+1 < len(s) {
			least[i] = math.Min(least[i], least[i+1])
		}
	}
	for i := 1; i < len(s); i++ {
		count[i] = count[i-1] + 1 + math.Round((least[i]-least[i-1])/period)
	}
}

// trimmedLine fits times against counts, twice without what lies beyond three of its own spreads.
func trimmedLine(count []float64, s []Sample) (start, step float64) {
	use := make([]bool, len(s))
	for i := range use {
		use[i] = true
	}
	for range 3 {
		var n, sx, sy, sxx, sxy float64
		for i := range s {
			if use[i] {
				n++
				sx += count[i]
				sy += s[i].AtS
			}
		}
		mx, my := sx/n, sy/n
		for i := range s {
			if use[i] {
				sxx += (count[i] - mx) * (count[i] - mx)
				sxy += (count[i] - mx) * (s[i].AtS - my)
			}
		}
		step = sxy / sxx
		start = my - step*mx
		off := make([]float64, len(s))
		for i := range s {
			off[i] = math.Abs(s[i].AtS - start - step*count[i])
		}
		limit := 3 * 1.4826 * median(slices.Clone(off))
		for i := range s {
			use[i] = off[i] <= limit || limit == 0
		}
	}
	return start, step
}

// median reorders v.
func median(v []float64) float64 {
	slices.Sort(v)
	n := len(v)
	if n == 0 {
		return math.NaN()
	}
	return (v[(n-1)/2] + v[n/2]) / 2
}

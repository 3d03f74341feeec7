package tell

import (
	"fmt"
	"math"
	"strings"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// CheckFound says what a gauge's check found, what is allowed, and what was judged or why not. c is judged; first says that there
// was no check before it.
func CheckFound(g *batch.Gauge, c batch.GaugeCheck, first bool) string {
	found := "first zero: there is none before to compare it with"
	if !first {
		found = "zero moved by " + inspect.Number(c.ShiftMM, 3, true) + " mm"
		switch {
		case g.LostZero(c.After):
			found += ", not judged: it loses its zero without power, and " + Because(c.After)
		case !c.ZeroJudged:
			found += ", not judged: the gauge's page allows any shift"
		case c.ZeroGood(g):
			found += fmt.Sprintf(", within the %.3f mm allowed", g.ZeroLimitMM)
		default:
			found += fmt.Sprintf(", "+zeroBeyond+" %.3f mm allowed", g.ZeroLimitMM)
		}
		if c.After == batch.CheckDrop {
			found = "as found: " + found
		}
	}
	for _, m := range c.Masters {
		found += fmt.Sprintf(", %s mm on the %g mm master (allowed %.3f)", inspect.Number(m.ErrorMM(), 3, true), m.NominalMM, m.LimitMM)
	}
	return found
}

// NoMaster says, after what a check found, that it tried no master, "" where it did.
func NoMaster(c batch.GaugeCheck) string {
	if len(c.Masters) > 0 {
		return ""
	}
	return " No master was tried, the zero alone: enter the masters on the gauge's page."
}

// Checked says how a check of a gauge ended.
func Checked(passed bool) string {
	if passed {
		return "passed"
	}
	return "failed"
}

// Because says in words what made a check of a gauge needed.
func Because(after string) string {
	switch after {
	case batch.CheckFirstUse:
		return "it had never been checked"
	case batch.CheckShift:
		return "a shift began"
	case batch.CheckDue:
		return "its last check had run out"
	case batch.CheckFailed:
		return "its last check failed"
	case batch.CheckAskedFor:
		return "it was asked for"
	case batch.CheckReconnect:
		return "it had been unplugged"
	case batch.CheckPowerUp:
		return "it had lost power"
	case batch.CheckSilence:
		return "it had been silent and may have been switched off"
	case batch.CheckBattery:
		return "its battery was low"
	case batch.CheckDrop:
		return "it fell or was knocked"
	case batch.CheckNotWatched:
		return "it had not been watched all the time"
	case batch.CheckEntry:
		return "a change on its page changed what its readings mean"
	}
	return after
}

// zeroBeyond stands in what is said of a check whose zero moved further than is allowed, and of no other.
const zeroBeyond = "more than the"

// CalibrationWord is what a laboratory says of a gauge without figures.
func CalibrationWord(word string) string {
	switch word {
	case batch.WithinLimits:
		return "within its limits"
	case batch.OutsideLimits:
		return "outside its limits"
	}
	return "nothing"
}

// CalibrationState says how a gauge was at its laboratory: its deviations with the largest allowed, in a unit, or the laboratory's word; ""
// where nothing is said.
func CalibrationState(s batch.CalibrationState, limitMM float64, in unit.Unit) string {
	if len(s.Points) == 0 {
		if s.Word == batch.NothingSaid {
			return ""
		}
		return CalibrationWord(s.Word)
	}
	points, digits := make([]string, len(s.Points)), in.Digits(0.001)
	for i, p := range s.Points {
		points[i] = in.Number(p.DeviationMM, digits, true) + " at " + in.Number(p.NominalMM, digits, false)
	}
	return Minus(fmt.Sprintf("%s %s (allowed %s)", strings.Join(points, ", "), in, in.Number(limitMM, digits, false)))
}

// CertificateRule says what a certificate's state as found does.
const CertificateRule = "Where a deviation as found, less the correction that was in force, is beyond the largest allowed, what the gauge measured before is in doubt: " +
	"back to the last check that passed and that it could not have passed as it was found, or to the certificate before, whichever is later. A check tells of its masters after its zero, " +
	"nothing of lengths beyond them. What it measured since the day of the calibration is in doubt too, unless it was left within, until such a check."

// GaugeKinds names the kinds of gauge as people would.
var GaugeKinds = map[batch.GaugeKind]string{
	batch.IndicatorGauge: "indicator on a carriage", batch.HeightGauge: "height gauge", batch.BeamGauge: "beam on two feet", batch.CaliperGauge: "caliper",
	batch.EncoderGauge: "position encoder", batch.TunerGauge: "tuner", batch.LeavesGauge: "feeler leaves", batch.RulerGauge: "ruler",
	batch.BeamByEyeGauge: "beam on two feet, read by eye", batch.FootSwitchGauge: "foot switch", batch.LampGauge: "lamp",
}

// LeafInterval says where leaves have found a relief: between the one that passes and the one that stops, of which one may be missing.
func LeafInterval(ends [2]*float64, in unit.Unit) string {
	passes, stops := ends[0], ends[1]
	switch {
	case passes == nil && stops == nil:
		return ""
	case passes == nil:
		return "below " + Leaf(*stops, in)
	case stops == nil:
		return Leaf(*passes, in) + " or more"
	}
	return Leaf(*passes, in) + " to " + Leaf(*stops, in)
}

// Leaf writes the thickness of a leaf as it is written on leaves: 0.25 and 0.038 mm, 0.010 and 0.0015 in.
func Leaf(mm float64, in unit.Unit) string {
	step, decimals := 0.01, 2
	if in == unit.Inch {
		step, decimals = 0.001, 3
	}
	if steps := in.From(mm) / step; math.Abs(steps-math.Round(steps)) > 0.01 {
		decimals++
	}
	return in.Number(mm, decimals, false)
}

// NoCheck says why a gauge needs no check, "" where it needs one.
func NoCheck(g *batch.Gauge) string {
	switch {
	case !g.NoCheck() || g.NoGauge():
		return ""
	case g.OnlyPlaces():
		return "every sweep finds its place from the frets"
	}
	return "it has no zero"
}

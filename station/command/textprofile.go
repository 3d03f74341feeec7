package command

import (
	"fmt"
	"io"
	"math"
	"strings"

	"sagitta/inspect"
)

const profileRows = 9

// drawProfile draws one track's crowns below (or above) the chord over the datum frets, as text: a column a fret, o a
// crown, the chord as a line. Beyond the second datum fret the crowns stand against the bend curve's tangent.
func drawProfile(out io.Writer, spec *inspect.Spec, p inspect.TrackProfile, width int) {
	const axis = 12 // characters left of the frets
	column := 3     // characters a fret
	if axis+column*len(p.XMM) > width {
		column = 2
	}
	spec = spec.WithDefaults()
	z := make([]float64, len(p.XMM))
	known := make([]bool, len(p.XMM))
	lo, hi := 0.0, 0.0
	for i := range p.XMM {
		switch {
		case i < len(p.ReliefMM) && p.ReliefMM[i] != nil:
			z[i], known[i] = -*p.ReliefMM[i], true
		case i < len(p.ExtensionMM) && p.ExtensionMM[i] != nil:
			z[i], known[i] = *p.ExtensionMM[i], true
		}
		if known[i] {
			lo, hi = math.Min(lo, z[i]), math.Max(hi, z[i])
		}
	}
	if hi-lo < 1e-9 {
		return
	}
	row := func(v float64) int { return int(math.Round((hi - v) / (hi - lo) * (profileRows - 1))) }
	grid := make([][]byte, profileRows)
	for r := range grid {
		grid[r] = []byte(strings.Repeat(" ", column*len(p.XMM)))
	}
	for i := range p.XMM {
		if n := i + 1; n >= spec.Datum.FirstFret && n <= spec.Datum.SecondFret {
			for k := range column {
				grid[row(0)][column*i+k] = '-'
			}
		}
		if known[i] {
			grid[row(z[i])][column*i+1] = 'o'
		}
	}
	digits := (&inspect.Characteristic{Unit: "mm"}).Rounded(spec.Uncertainty.ResolutionMM, 1)
	fmt.Fprintf(out, "\n  %s, crowns against the chord over frets %d–%d, mm\n", inspect.Side(p.Track), spec.Datum.FirstFret, spec.Datum.SecondFret)
	for r := range grid {
		fmt.Fprintf(out, "  %*s |%s\n", axis-5, digits.Value(hi-(hi-lo)*float64(r)/(profileRows-1), true), strings.TrimRight(string(grid[r]), " "))
	}
	var frets strings.Builder
	for n := 1; n <= len(p.XMM); n++ {
		if column == 2 && n%2 == 1 { // every other number, for want of room
			frets.WriteString("  ")
			continue
		}
		fmt.Fprintf(&frets, "%2d%s", n, strings.Repeat(" ", column-2))
	}
	fmt.Fprintf(out, "     fret  %s\n", strings.TrimRight(frets.String(), " "))
}

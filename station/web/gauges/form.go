package gauges

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"sagitta/batch"
	"sagitta/batch/tell"
	"sagitta/devices"
	"sagitta/inspect"
	"sagitta/inspect/unit"
	"sagitta/station/binding"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
)

// kindsGauged are the kinds of reading a gauge may be registered for.
var kindsGauged = []batch.Kind{
	batch.Crown, batch.ActionHeight, batch.NutHeight, batch.Pitch, batch.BeamReading, batch.LeafPasses, batch.LeafStops, batch.Position,
}

// heights are what a gauge that is no beam, encoder or tuner may be used for.
var heights = []batch.Kind{batch.Crown, batch.ActionHeight, batch.NutHeight}

// foundAndRead is the group of the form that says which port is the gauge's and what its lines mean.
const foundAndRead = "How it is found and read"

// gaugeForm is the form of one gauge, filled with what is on file: what its kind is decides which fields there are. Lengths stand in the page's unit.
func gaugeForm(g batch.Gauge, lengths unit.Unit, ports []devices.PortInfo, decoders []form.Option) *form.Form {
	var measures []form.Option
	for _, k := range kindsGauged {
		if on := slices.Contains(g.Measures, k); on || slices.Contains(heights, k) {
			measures = append(measures, form.Option{Value: string(k), Label: tell.Kinds[k], On: on})
		}
	}
	length := func(name, label, allowed string, mm float64, needed bool) form.Field {
		return form.Field{Name: name, Label: label, Kind: "number", Unit: lengths.String(), Allowed: allowed, Value: show.ExactValue(mm, lengths), Needed: needed}
	}
	span := func(low, high float64) string { return show.Exact(low, lengths) + " to " + show.Exact(high, lengths) }
	custom, named := "", g.Decoder
	if !slices.ContainsFunc(decoders, func(o form.Option) bool { return o.Value == g.Decoder }) {
		custom, named = g.Decoder, ""
	}
	pick := []form.Option{{Value: "", Label: "own description, under more of its line", On: named == ""}}
	for _, d := range decoders {
		d.On = d.Value == named
		pick = append(pick, d)
	}
	groups := []form.Group{
		{Title: "What it is", Fields: []form.Field{
			{Name: "name", Label: "Name", Kind: "text", Allowed: "as the bench calls it, e.g. carriage indicator", Value: g.Name, Needed: true},
			{Name: "measures", Label: "Measures", Kind: "check", Allowed: "one or more", Options: measures},
			length("resolution", "Resolution", "the last digit's step, "+span(0.0001, 1), g.ResolutionMM, true),
			{Name: "sense", Label: "Sense", Kind: "select", Value: strconv.Itoa(senseOf(g)), Options: []form.Option{
				{Value: "1", Label: "reads more when the surface is higher", On: senseOf(g) == 1}, {Value: "-1", Label: "reads less when the surface is higher", On: senseOf(g) == -1}}},
			{Name: "leaves", Label: "Leaves", Kind: "area", Rows: 3, Unit: lengths.String(), Allowed: "their thicknesses, rising, with blanks between", Value: leafLine(g.LeavesMM, lengths)},
			{Name: "feet_by", Label: "Its feet and its plunger are told", Kind: "select", Value: "tape", Options: []form.Option{
				{Value: "tape", Label: "by a tape from the nut", On: true}, {Value: "frets", Label: "by the frets that they stand on"}}},
			{Name: "feet_scale", Label: "Scale length", Kind: "number", Unit: lengths.String(), Allowed: "only by frets: from nut to bridge, " + span(300, 1000)},
			{Name: "feet_first", Label: "First foot", Kind: "text", Unit: lengths.String(), Allowed: "from the nut, " + span(0, 1000) + ", or a fret's number", Value: show.ExactValue(g.FeetMM[0], lengths)},
			{Name: "plunger", Label: "Plunger", Kind: "text", Unit: lengths.String(), Allowed: "between the feet, the same way", Value: show.ExactValue(g.PlungerMM, lengths)},
			{Name: "feet_second", Label: "Second foot", Kind: "text", Unit: lengths.String(), Allowed: "the same way", Value: show.ExactValue(g.FeetMM[1], lengths)},
		}},
		{Title: foundAndRead, Note: "The adapter's USB identity finds the gauge again on any port. Where there is none, give the port.", Fields: []form.Field{
			portField(ports),
			{Name: "path", Label: "Port", Kind: "text", Allowed: "only without a USB identity, e.g. /dev/ttyS0 or COM3", Value: g.Path},
			{Name: "decoder", Label: "Decoder", Kind: "select", Allowed: "what its frames look like", Value: named, Options: pick},
			{Name: "capture", Label: "Readings come", Kind: "select", Value: captureOf(g), Options: captureOptions(g)},
			{Name: "foot_switch", Label: "Foot switch", Kind: "select", Allowed: "a contact that closes when stepped on, wired to a line of this gauge's port; it takes what the bench asks for, held down it takes back",
				Value: g.FootSwitch, Options: footOptions(g)},
		}},
		{Title: "More of its line", Folded: true, Fields: []form.Field{
			{Name: "own_decoder", Label: "Own decoder description", Kind: "area", Rows: 8, Allowed: "decoder TOML, used when none is picked above", Value: custom},
			{Name: "usb_vendor", Label: "USB vendor", Kind: "text", Allowed: "four hex digits, or empty", Value: g.USBVendor},
			{Name: "usb_product", Label: "USB product", Kind: "text", Allowed: "four hex digits, or empty", Value: g.USBProduct},
			{Name: "usb_serial", Label: "USB serial number", Kind: "text", Allowed: "as the adapter gives it", Value: g.USBSerial},
			{Name: "usb_socket", Label: "Socket", Kind: "text", Allowed: "only to tell its adapter from an alike one; empty: found in any", Value: g.USBSocket},
			{Name: "prefix", Label: "Prefix it types", Kind: "text", Allowed: "only a gauge that types: what comes before every reading; empty: it is told by its speed", Value: g.Prefix},
			{Name: "channel", Label: "Channel", Kind: "text", Allowed: "only frames of this channel; empty: all", Value: g.Channel},
			{Name: "key_channel", Label: "Data key's channel", Kind: "text", Allowed: "frames of this channel are key presses; empty: none", Value: g.KeyChannel},
		}},
		{Title: "How well it measures", Note: howWell(g, lengths), Fields: []form.Field{
			length("u_calibration", "Calibration", span(0, 0.5), g.CalibrationU, false),
			length("u_repeatability", "Repeatability", span(0, 0.5), g.RepeatabilityU, false),
			{Name: "u_reason", Label: "Where these figures come from", Kind: "text", Allowed: "when one of them, or the resolution, changes: in a few words, e.g. data sheet, 20 readings of the flat; kept in the audit"},
		}},
		{Title: "Correction and reference", Folded: true, Fields: []form.Field{
			{Name: "calibration", Label: "Correction table", Kind: "area", Rows: 5, Unit: lengths.String(), Value: pairLines(calibrationPairs(g), lengths),
				Allowed: "one line a point: indicated, error; indicated values rising"},
			length("u_reference", "Reference surface", "standard uncertainty, "+span(0, 0.5), g.ReferenceU, false),
			{Name: "reference", Label: "Reference flat's form", Kind: "area", Rows: 5, Unit: lengths.String(), Value: pairLines(referencePairs(g), lengths),
				Allowed: "one line a point: place from the nut, reading; places rising"},
			length("travel", "Travel", span(0.1, 200), g.TravelMM, false),
		}},
		{Title: "How it is checked", Note: "A check sets the zero on the flat and tries the masters. Outside these limits, or when a check is due, the gauge is locked out of verdicts.", Fields: []form.Field{
			length("zero_limit", "Largest zero shift", span(0.0001, 1), g.ZeroLimitMM, true),
			{Name: "masters", Label: "Masters", Kind: "area", Rows: 3, Unit: lengths.String(), Value: pairLines(masterPairs(g), lengths),
				Allowed: "one line a master: nominal, largest deviation; nominals rising; empty: none"},
			{Name: "each_shift", Label: "Before each shift", Kind: "select", Value: shiftOf(g), Options: []form.Option{
				{Value: "yes", Label: "checked: a new day or shift, or another inspector", On: g.EachShift}, {Value: "no", Label: "not asked for", On: !g.EachShift}}},
			{Name: "check_hours", Label: "A check is due after", Kind: "number", Unit: "h", Allowed: "0 to 8760; 0: never by time", Value: show.Plain(g.CheckHours)},
			{Name: "loses_zero", Label: "Without power its zero is", Kind: "select", Allowed: "a zero that moved is judged at every check, except where it is lost with the power and the power was gone", Value: g.LosesZero, Options: zeroOptions(g)},
		}},
	}
	return &form.Form{Groups: withFields(groups, g)}
}

// howWell says what the figures of uncertainty are, and what is proposed where they are left empty.
func howWell(g batch.Gauge, lengths unit.Unit) string {
	note := "Standard uncertainties (one standard deviation). A study's outcome is taken over on its own page, a certificate's figures where it is entered above; what is typed here needs the name of who answers for it, and where it comes from."
	p, ok := batch.Propose(g.Kind, g.ResolutionMM)
	if !ok {
		return note + " Left empty, they are proposed from its kind and its resolution."
	}
	return fmt.Sprintf("%s Left empty, they are proposed: calibration %s, repeatability %s (%s).", note, show.Exact(p.CalibrationU, lengths), show.Exact(p.RepeatabilityU, lengths), p.Source)
}

// zeroWords say what takes a gauge's zero, for each of batch.ZeroLosses.
var zeroWords = map[string]string{
	batch.LosesNever:     "kept",
	batch.LosesWithPower: "lost; it has a battery or supply of its own",
	batch.LosesWithLine:  "lost; its power comes over the cable of its line",
}

func zeroOptions(g batch.Gauge) []form.Option {
	options := make([]form.Option, len(batch.ZeroLosses))
	for i, l := range batch.ZeroLosses {
		options[i] = form.Option{Value: l, Label: zeroWords[l], On: l == g.LosesZero}
	}
	return options
}

// portField lists the ports that can be seen; picking one fills in its identity.
func portField(ports []devices.PortInfo) form.Field {
	fd := form.Field{Name: "port", Label: "Take the identity from a port", Kind: "select", Allowed: "ports seen now; the fields below stay when none is picked",
		Options: []form.Option{{Value: "", Label: "no, keep what stands below", On: true}}}
	for _, p := range ports {
		fd.Options = append(fd.Options, form.Option{Value: p.Name, Label: portWords(p), On: false})
	}
	return fd
}

// portWords describes a port: its name and what its adapter says of itself.
func portWords(p devices.PortInfo) string {
	words := p.Name
	if p.Words != "" {
		words += ", " + p.Words
	}
	if p.Identity.IsZero() {
		return words + ", no USB identity"
	}
	words += fmt.Sprintf(", USB %s:%s", p.Identity.Vendor, p.Identity.Product)
	if p.Identity.Serial != "" {
		words += ", serial number " + p.Identity.Serial
	}
	return words
}

// gaugeFrom reads the form into the gauge and marks what is wrong beside its field.
func gaugeFrom(f *form.Form, g batch.Gauge, lengths unit.Unit, ports []devices.PortInfo) batch.Gauge {
	measuresFrom(f, &g, lengths)
	portFrom(f, &g, ports)
	uncertaintyFrom(f, &g, lengths)
	if p, ok := batch.Propose(g.Kind, g.ResolutionMM); ok && g.CalibrationU == 0 && g.RepeatabilityU == 0 && g.ReferenceU == 0 {
		g.CalibrationU, g.RepeatabilityU, g.UReason = p.CalibrationU, p.RepeatabilityU, p.Source
	}
	checksFrom(f, &g, lengths)
	return g
}

// measuresFrom reads what the gauge is and measures.
func measuresFrom(f *form.Form, g *batch.Gauge, lengths unit.Unit) {
	g.Name = f.Text("name", 80)
	if has(g.Kind, "measures") {
		g.Measures = nil
		for _, k := range f.Field("measures").Chosen() {
			if slices.Contains(kindsGauged, batch.Kind(k)) {
				g.Measures = append(g.Measures, batch.Kind(k))
			}
		}
		if len(g.Measures) == 0 {
			f.Field("measures").Fail("Nothing is ticked. Tick what the gauge is used for.")
		}
	} else if len(g.Measures) == 0 {
		g.Measures = g.Kind.Usual()
	}
	g.ResolutionMM = f.Length("resolution", lengths, 0.0001, 1)
	g.TravelMM = f.Length("travel", lengths, 0.1, 200)
	g.Sense = 1
	if f.Choice("sense") == "-1" {
		g.Sense = -1
	}
	g.FeetMM, g.PlungerMM = [2]float64{}, 0
	if g.OnTwoFeet() {
		feetFrom(f, g, lengths)
	}
	if has(g.Kind, "leaves") {
		leavesFrom(f, g, lengths)
	}
}

// feetFrom reads where a beam's feet and its plunger stand: by a tape from the nut, or by the frets. A beam read by eye may leave that to
// the bench, which asks once.
func feetFrom(f *form.Form, g *batch.Gauge, lengths unit.Unit) {
	place := func(name string) float64 { return f.Length(name, lengths, 0, 1000) }
	if f.Choice("feet_by") == "frets" {
		f.Field("feet_scale").Needed = true
		scale := f.Length("feet_scale", lengths, 300, 1000)
		place = func(name string) float64 { return inspect.FretX(scale, f.Whole(name, 0, 36)) }
	}
	g.FeetMM = [2]float64{place("feet_first"), place("feet_second")}
	g.PlungerMM = place("plunger")
	if g.Kind == batch.BeamByEyeGauge && !g.FeetKnown() && g.PlungerMM == 0 {
		return
	}
	if !(g.FeetMM[0] < g.PlungerMM && g.PlungerMM < g.FeetMM[1]) {
		f.Field("plunger").Fail("A beam on two feet needs both feet and the plunger between them: first foot < plunger < second foot.")
	}
}

// leavesFrom reads the thicknesses of a set of leaves.
func leavesFrom(f *form.Form, g *batch.Gauge, lengths unit.Unit) {
	g.LeavesMM = nil
	for _, word := range strings.FieldsFunc(f.Field("leaves").Value, func(r rune) bool { return unicode.IsSpace(r) || r == ';' }) {
		mm, err := show.ParseLength(word, lengths)
		if err != nil {
			f.Field("leaves").Fail("%q is not a thickness, as in %s.", word, show.ExactNumber(0.1, lengths))
			return
		}
		g.LeavesMM = append(g.LeavesMM, mm)
	}
}

// portFrom reads what the gauge is found and read by. What is read by eye has no line.
func portFrom(f *form.Form, g *batch.Gauge, ports []devices.PortInfo) {
	g.USBVendor, g.USBProduct = hexIdentity(f, "usb_vendor"), hexIdentity(f, "usb_product")
	g.USBSerial, g.USBSocket, g.Path = f.Text("usb_serial", 120), f.Text("usb_socket", 120), f.Text("path", 250)
	if g.ByEye() {
		g.Decoder, g.Capture, g.FootSwitch = "", "", ""
		return
	}
	if picked := f.Choice("port"); picked != "" {
		for _, p := range ports {
			if p.Name == picked {
				binding.Bind(g, p, ports)
			}
		}
	}
	g.Capture, g.FootSwitch, g.Prefix = f.Choice("capture"), f.Choice("foot_switch"), f.Text("prefix", 20)
	switch g.Kind {
	case batch.FootSwitchGauge:
		g.Capture = devices.CaptureFoot
	case batch.LampGauge:
		g.Capture = devices.CaptureLamp
	}
	captureFits(f, *g)
	if g.USBVendor == "" && g.Path == "" && g.Capture != devices.CaptureTyped {
		f.Field("path").Fail("Neither a USB identity nor a port is given. Pick the port above, or type one of them.")
	}
	if g.NoGauge() {
		g.Decoder = ""
	} else if g.Decoder = f.Choice("decoder"); g.Decoder == "" {
		own := f.Field("own_decoder")
		own.Value = strings.ReplaceAll(own.Value, "\r\n", "\n")
		g.Decoder = own.Value
		if strings.TrimSpace(g.Decoder) == "" {
			f.Field("decoder").Fail("No decoder is picked and none is described below. Pick the one that fits the gauge's frames.")
		}
	}
	g.Channel, g.KeyChannel = f.Text("channel", 40), f.Text("key_channel", 40)
}

// uncertaintyFrom reads what is known of the gauge's errors.
func uncertaintyFrom(f *form.Form, g *batch.Gauge, lengths unit.Unit) {
	g.CalibrationU, g.RepeatabilityU, g.ReferenceU = f.Length("u_calibration", lengths, 0, 0.5), f.Length("u_repeatability", lengths, 0, 0.5), f.Length("u_reference", lengths, 0, 0.5)
	g.Calibration, g.Reference = nil, nil
	for _, p := range f.Pairs("calibration", lengths) {
		g.Calibration = append(g.Calibration, batch.CalibrationPoint{IndicatedMM: p[0], ErrorMM: p[1]})
	}
	for _, p := range f.Pairs("reference", lengths) {
		g.Reference = append(g.Reference, batch.ReferencePoint{XMM: p[0], ReadingMM: p[1]})
	}
	g.UReason = cmp.Or(f.Text("u_reason", 300), g.UReason)
}

// checksFrom reads how the gauge is checked.
func checksFrom(f *form.Form, g *batch.Gauge, lengths unit.Unit) {
	g.ZeroLimitMM = f.Length("zero_limit", lengths, 0.0001, 1)
	g.LosesZero = f.Choice("loses_zero")
	g.Masters = nil
	for i, p := range f.Pairs("masters", lengths) {
		if p[0] <= 0 || p[0] > 200 || p[1] <= 0 || p[1] > 1 {
			f.Field("masters").Fail("Master %d: nominal %s, largest deviation %s; allowed are more than 0 to %s and more than 0 to %s.", i+1, show.Exact(p[0], lengths), show.Exact(p[1], lengths), show.Exact(200, lengths), show.Exact(1, lengths))
		}
		g.Masters = append(g.Masters, batch.Master{NominalMM: p[0], LimitMM: p[1]})
	}
	g.EachShift = f.Choice("each_shift") == "yes"
	g.CheckHours = f.Number("check_hours", 0, 8760)
}

// hexIdentity reads a USB vendor or product number.
func hexIdentity(f *form.Form, name string) string {
	fd := f.Field(name)
	if fd.Value == "" {
		return ""
	}
	if _, err := strconv.ParseUint(fd.Value, 16, 16); err != nil || len(fd.Value) != 4 {
		fd.Fail("%q is not four hex digits, as in e71a.", fd.Value)
	}
	return strings.ToLower(fd.Value)
}

// pairLines writes pairs as the form reads them.
func pairLines(pairs [][2]float64, lengths unit.Unit) string {
	var b strings.Builder
	for _, p := range pairs {
		fmt.Fprintf(&b, "%s %s\n", show.ExactNumber(p[0], lengths), show.ExactNumber(p[1], lengths))
	}
	return b.String()
}

func calibrationPairs(g batch.Gauge) [][2]float64 {
	pairs := make([][2]float64, len(g.Calibration))
	for i, p := range g.Calibration {
		pairs[i] = [2]float64{p.IndicatedMM, p.ErrorMM}
	}
	return pairs
}

func referencePairs(g batch.Gauge) [][2]float64 {
	pairs := make([][2]float64, len(g.Reference))
	for i, p := range g.Reference {
		pairs[i] = [2]float64{p.XMM, p.ReadingMM}
	}
	return pairs
}

func masterPairs(g batch.Gauge) [][2]float64 {
	pairs := make([][2]float64, len(g.Masters))
	for i, m := range g.Masters {
		pairs[i] = [2]float64{m.NominalMM, m.LimitMM}
	}
	return pairs
}

// shiftOf says whether a gauge is checked before each shift, as its form asks.
func shiftOf(g batch.Gauge) string { return show.Pick(g.EachShift, "yes", "no") }

// senseOf is a gauge's sense, +1 unless it says otherwise.
func senseOf(g batch.Gauge) int {
	if g.Sense < 0 {
		return -1
	}
	return 1
}

// checkDue is when the next check is due, zero when never by time.
func checkDue(g batch.Gauge, checks []batch.GaugeCheck) time.Time {
	var last *batch.GaugeCheck
	for i := range checks {
		if c := &checks[i]; c.Good && (last == nil || c.At.After(last.At)) {
			last = c
		}
	}
	return g.CheckRunsOut(last)
}

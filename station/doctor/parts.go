package doctor

import (
	"errors"
	"fmt"
	"os"
	"strings"
	"time"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/batch/tell"
	"sagitta/devices"
	"sagitta/station/binding"
	"sagitta/station/copies"
)

// noRecord tells a folder that no station has used from a record that cannot be read.
func noRecord(err error) Finding {
	if errors.Is(err, record.ErrNoRecord) {
		return Finding{"Record", Look, "There is no record in the folder yet.", "The station makes it at its first start."}
	}
	return Finding{"Record", Wrong, tell.Sentence(err), "Leave the file as it is. The newest copy is brought back with sagitta restore; what can be read of a damaged record, sagitta salvage writes into a new one."}
}

func ofRecord(newest []batch.Event, err error) Finding {
	switch {
	case err != nil:
		return Finding{"Record", Wrong, tell.Sentence(err), "Run sagitta verify: it says what of the record is hurt."}
	case len(newest) == 0:
		return Finding{"Record", Well, "It opens, and nothing is in it yet.", ""}
	}
	return Finding{"Record", Well, fmt.Sprintf("It opens; its trail has %s, the newest of %s.", tell.Counted(int(newest[0].Seq), "entry", "entries"), newest[0].At.Local().Format("2006-01-02 15:04")),
		"sagitta verify recomputes all of it."}
}

// copies is what became of the record's copies, by what its station left in the folder.
func (m Machine) copies(dir string) []Finding {
	s, err := copies.Load(dir)
	switch {
	case err != nil:
		return []Finding{{"Copies", Look, tell.Sentence(err), ""}}
	case s.Plan == nil || s.Plan.To == "" && s.Plan.MirrorTo == "":
		return []Finding{{"Copies", Look, "The station makes no copies of its record.", "Start it with --backup-to and a folder on another machine or disk, or have sagitta backup run each day."}}
	}
	var found []Finding
	for _, d := range s.Due(m.Now(), -1) {
		says := tell.Sentence(errors.New(d.Says))
		if !d.Since.IsZero() {
			says = strings.TrimSuffix(says, ".") + ", since " + d.Since.In(m.Zone).Format("2006-01-02 15:04") + "."
		}
		found = append(found, Finding{"Copies", Look, says, d.Do})
	}
	if found != nil {
		return found
	}
	when := func(of string, d copies.Done) string {
		if d.At.IsZero() {
			return of + " none yet"
		}
		return of + " of " + d.At.In(m.Zone).Format("2006-01-02 15:04")
	}
	var says []string
	if s.Plan.To != "" {
		says = append(says, when("the last backup is", s.Backup), when("the last that was proved is", s.Drill))
	}
	if s.Plan.MirrorTo != "" {
		says = append(says, when("the copy that follows the record is", s.Mirror))
	}
	return []Finding{{"Copies", Well, tell.Upper(strings.Join(says, "; ")) + ".", ""}}
}

// room is what may still be written beside the record.
func (m Machine) room(dir string) Finding {
	free, err := m.Free(dir)
	switch {
	case err != nil:
		return Finding{"Room", Look, fmt.Sprintf("How much room is left cannot be told: %v.", err), ""}
	case free < leastRoom:
		return Finding{"Room", Wrong, fmt.Sprintf("%d MB are left on the record's disk.", free>>20), "Make room: when the disk is full no reading is taken."}
	case free < fairRoom:
		return Finding{"Room", Look, fmt.Sprintf("%d MB are left on the record's disk.", free>>20), "Make room before it is full, or give the station another disk."}
	}
	return Finding{"Room", Well, fmt.Sprintf("%d GB are left on the record's disk.", free>>30), ""}
}

// clock is what the times of readings, checks and doubts are told by.
func (m Machine) clock(newest []batch.Event) Finding {
	now := m.Now()
	zone, _ := now.In(m.Zone).Zone()
	shown := fmt.Sprintf("It is %s (%s)", now.In(m.Zone).Format("2006-01-02 15:04"), zone)
	if len(newest) > 0 && newest[0].At.Sub(now) > time.Minute {
		return Finding{"Clock", Wrong, fmt.Sprintf("%s, but the record's newest entry is of %s: the clock was set back.", shown, newest[0].At.In(m.Zone).Format("2006-01-02 15:04")),
			"Set the clock before anything is measured: what is in doubt is found by time."}
	}
	kept, known := m.Clock()
	switch {
	case known && !kept:
		return Finding{"Clock", Look, shown + ", and no time service keeps the clock.", "Turn one on (on Linux: timedatectl set-ntp true), or compare it with a clock that is right each week."}
	case m.Zone.String() == "UTC":
		return Finding{"Clock", Look, shown + ": times on the pages are those of no shop's wall.", "Set the machine's time zone (on Linux: timedatectl set-timezone), unless that is meant."}
	case !known:
		return Finding{"Clock", Well, shown + "; whether a time service keeps the clock, this system does not say.", ""}
	}
	return Finding{"Clock", Well, shown + ", and a time service keeps the clock.", ""}
}

// ports looks for the port of every gauge that has a line, and whether this user may open it.
func (m Machine) ports(gauges []batch.Gauge) []Finding {
	ports, err := m.Ports()
	if err != nil {
		return []Finding{{"Ports", Wrong, tell.Sentence(err), ""}}
	}
	var found []Finding
	for _, g := range gauges {
		if g.RetiredAt.IsZero() && !g.ByEye() && g.Capture != devices.CaptureTyped {
			found = append(found, m.lineOf(g, ports))
		}
	}
	if len(found) > 0 {
		return found
	}
	if len(ports) == 0 {
		return []Finding{{"Ports", Well, "No serial port is present, and no gauge on file needs one.", ""}}
	}
	for _, p := range ports {
		if why := m.MayNot(p.Name); why != "" {
			found = append(found, Finding{"Port " + p.Name, Wrong, why, ""})
		} else {
			found = append(found, Finding{"Port " + p.Name, Well, "This user may open it; no gauge is on file for it.", ""})
		}
	}
	return found
}

// lineOf is how a gauge is reached.
func (m Machine) lineOf(g batch.Gauge, ports []devices.PortInfo) Finding {
	part := "Gauge " + g.Name
	var mine []string
	for _, p := range ports {
		if len(binding.Gauges(p, ports, []batch.Gauge{g})) > 0 {
			mine = append(mine, p.Name)
		}
	}
	if len(mine) == 0 && g.Path != "" {
		if _, err := os.Stat(g.Path); err == nil {
			mine = append(mine, g.Path) // a pseudo-terminal, or a link that udev made, is in no list
		}
	}
	switch {
	case len(mine) == 0:
		return Finding{part, Look, "Its port is not there.", "Plug it in, or choose its port on its page."}
	case len(mine) > 1:
		return Finding{part, Look, fmt.Sprintf("It may be on any of %s: their adapters are alike.", tell.List(mine)), "Choose which on the gauge's page: it listens to them while its key is pressed."}
	}
	if why := m.MayNot(mine[0]); why != "" {
		return Finding{part, Wrong, why, ""}
	}
	return Finding{part, Well, "Its port is " + mine[0] + ", and this user may open it.", ""}
}

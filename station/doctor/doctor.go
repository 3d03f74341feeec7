// Package doctor looks at what a station needs of its machine: its folder and record, copies, room, clock, who reaches it, and ports. It changes nothing.
package doctor

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"time"

	"sagitta/batch/record"
	"sagitta/batch/tell"
	"sagitta/devices"
)

// State says how a part of the installation is.
type State string

// The states of a finding.
const (
	Well  State = "well"
	Look  State = "look"  // the station works; somebody should look at it
	Wrong State = "wrong" // the station cannot do its work, or what it records may be lost or untrue
)

// Finding is one part of the installation as it was found.
type Finding struct {
	Part  string
	State State
	Says  string // what was found
	Do    string // what to do, "" where there is nothing
}

// Machine is what is asked of the machine.
type Machine struct {
	Now    func() time.Time
	Zone   *time.Location                  // in which times are shown
	Ports  devices.Lister                  // what is plugged in
	Free   func(dir string) (int64, error) // bytes that may still be written
	Clock  func() (kept, known bool)       // whether a time service keeps the clock, and whether the system says so
	Go     string                          // release that the program was built with
	MayNot func(port string) string        // why this user may not open a port, "" where they may or where it cannot be told
}

// ThisMachine is the machine that the program runs on.
func ThisMachine() Machine {
	return Machine{Now: time.Now, Zone: time.Local, Ports: devices.ListPorts, Free: freeBytes, Clock: clockKept, Go: runtime.Version(), MayNot: devices.MayNot}
}

// room that a station should have: its record grows by some 60 kB a neck, and a copy of it needs as much again.
const (
	leastRoom = 200 << 20 // bytes
	fairRoom  = 2 << 30
)

// Station looks at the station that keeps its record in dir and is to be reached in a way, part by part, in the order in which they are put right.
func (m Machine) Station(ctx context.Context, dir string, reach Reach) []Finding {
	return append(m.station(ctx, dir, reach), program(m.Go))
}

func (m Machine) station(ctx context.Context, dir string, reach Reach) []Finding {
	found := []Finding{folder(dir)}
	if found[0].State == Wrong {
		return append(found, m.clock(nil))
	}
	db, err := record.Open(filepath.Join(dir, "record.db"), record.Options{ReadOnly: true, AsItIs: true})
	if err != nil {
		found = append(found, noRecord(err), m.room(dir), m.clock(nil))
		found = append(found, m.certificate(dir, reach)...)
		return append(found, m.ports(nil)...)
	}
	defer func() { _ = db.Close() }()
	newest, err := db.Audit(ctx, 1)
	found = append(found, ofRecord(newest, err))
	found = append(found, m.copies(dir)...)
	on, err := db.PeopleSignOn(ctx)
	found = append(found, m.room(dir), m.clock(newest), signOn(on, err, reach))
	found = append(found, m.certificate(dir, reach)...)
	gauges, err := db.Gauges(ctx)
	if err != nil {
		return append(found, Finding{"Gauges", Wrong, tell.Sentence(err), ""})
	}
	return append(found, m.ports(gauges)...)
}

// folder is where the record lies.
func folder(dir string) Finding {
	f := Finding{Part: "Folder", State: Wrong}
	info, err := os.Stat(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		f.Says, f.Do = fmt.Sprintf("There is no folder %s.", dir), "Give the station's folder with --data, or start the station once: it makes it."
		return f
	case err != nil:
		f.Says, f.Do = fmt.Sprintf("The folder %s cannot be looked at: %v.", dir, err), "Run this as the user that the station runs as."
		return f
	case !info.IsDir():
		f.Says, f.Do = dir+" is a file.", "Give the folder that it lies in."
		return f
	}
	trial, err := os.CreateTemp(dir, ".doctor-*") // whether it may be written shows only by writing
	if err != nil {
		f.Says, f.Do = fmt.Sprintf("Nothing can be written into the folder %s: %v.", dir, errors.Unwrap(err)), "Give it to the user that the station runs as, and look whether its disk is full or mounted for reading only."
		return f
	}
	_, name := trial.Close(), trial.Name()
	if err := os.Remove(name); err != nil {
		f.Says = fmt.Sprintf("A trial file in the folder %s could not be removed: %v.", dir, err)
		return f
	}
	f.State, f.Says = Well, dir+" may be written."
	if runtime.GOOS != "windows" && info.Mode().Perm()&0o007 != 0 { // there the mode does not say it
		f.State, f.Says = Look, fmt.Sprintf("Everybody on this computer may look into the folder %s (%s).", dir, info.Mode())
		f.Do = "Unless that is meant: chmod o-rwx " + dir
	}
	return f
}

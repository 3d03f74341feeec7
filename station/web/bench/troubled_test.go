package bench

import (
	"time"

	"sagitta/batch"
	"sagitta/inspect"
	"sagitta/station/bench"
	"sagitta/station/web/draw"
	"sagitta/station/web/webtest"
)

// troubled are states of the bench in which something was refused, failed, is called back or runs beside a neck.
func troubled(s *webtest.Shop) []story {
	with := func(snap bench.Snapshot, change func(*bench.Snapshot)) bench.Snapshot {
		change(&snap)
		return snap
	}
	good := crowned{relief: 0.3}
	const called = "Called back: 44 of its readings are in doubt since the carriage indicator failed its check. Only these are measured again."
	return []story{
		{"refused", with(measuring(s, good, 12), func(n *bench.Snapshot) {
			n.Notice = &bench.Notice{ID: 2, Refused: true, Text: "7/64 in is 2.778 mm, more than the carriage indicator reads: nothing was taken. Type the height again."}
		}), []string{"nothing was taken"}},
		{"called-back", with(measuring(s, good, 12), func(n *bench.Snapshot) { n.Doubt = called }), []string{"Only these are measured again."}},
		{"check-failed", with(idle(s), func(n *bench.Snapshot) {
			n.Notice = &bench.Notice{ID: 3, Refused: true, Text: "The carriage indicator failed its check: its zero moved by +0.034 mm. Three inspections since its last check that passed are in doubt; their necks are called back."}
			n.Gauges[0] = bench.GaugeLine{ID: s.Gauge.ID, Name: "carriage indicator", State: "locked out", Words: "carriage indicator out of verdicts since 09:41", ToDo: "Have it mended, then check it.", Locked: true, Due: true}
			n.Waiting.InDoubt = batch.NeckPage{Total: 2, Necks: []batch.NeckRow{{Neck: batch.Neck{Serial: "QM-2611-0001", BatchNumber: "QM-2611"}, InDoubt: true, Disposition: inspect.Pass}, {Neck: batch.Neck{Serial: "QM-2611-0002", BatchNumber: "QM-2611"}, InDoubt: true, Disposition: inspect.Pass}}}
		}), []string{"failed its check", "QM-2611-0002", "out of verdicts"}},
		{"alarm", with(measuring(s, good, 30), func(n *bench.Snapshot) {
			n.Alarms = []batch.Alarm{{ID: "a1", At: time.Now(), BatchNumber: "QM-2611", Words: "Relief of QM-2611, bass side, has drifted upwards over the last 12 necks.", LookAt: "Look at the humidity and at the rod's set-up."}}
		}), []string{"has drifted upwards", "Look at the humidity"}},
		{"record-lost", with(measuring(s, good, 30), func(n *bench.Snapshot) {
			n.Concerns = []bench.Concern{{What: "record", Words: "the record's file was taken from under the station: at 14:05:01 shop/record.db was deleted or moved away. Nothing is recorded until this is put right.", Lost: true}}
			n.Alarms = []batch.Alarm{{ID: "a1", At: time.Now(), BatchNumber: "QM-2611", Words: "Relief of QM-2611 has drifted upwards.", LookAt: "Look at the rod."}}
		}), []string{"<summary>" + string(draw.StateShape("failed")) + " <span>Record: the record&#39;s file was taken", "and 1 more"}},
		{"backup-late", with(measuring(s, good, 30), func(n *bench.Snapshot) {
			n.Concerns = []bench.Concern{{What: "backup", Words: "the last backup failed: there is no room for it", ToDo: "The last that went well is of 2026-03-01 02:00.", Since: time.Date(2026, 3, 2, 2, 0, 0, 0, time.Local)}}
		}), []string{"Backup: the last backup failed: there is no room for it, since 2026-03-02 02:00", "The last that went well is of 2026-03-01 02:00."}},
		{"study", with(idle(s), func(n *bench.Snapshot) {
			n.Study = &bench.Study{ID: "s1", GaugeID: s.Gauge.ID, Gauge: "carriage indicator", About: "crown of fret 7", Appraiser: "Mara Quill", Seen: "trial 2, part 3 of 10", HandOver: "P3", Taken: 13, Of: 90}
			n.Live = bench.Live{GaugeID: s.Gauge.ID, Name: "carriage indicator", Fresh: true, Has: true, MM: 0.412}
		}), []string{"trial 2, part 3 of 10", "13 of 90 readings"}},
		{"sweep", with(measuring(s, good, 1), func(n *bench.Snapshot) {
			n.Sweep = &bench.Sweep{Track: "bass", Running: true, WayMM: 211, Readings: 1840, Open: []int{1, 2, 3}, Frets: 22}
		}), []string{"1840 readings", "End the sweep"}},
		{"reworked", with(decided(s, crowned{relief: 0.46}), func(n *bench.Snapshot) {
			n.Rework = []batch.ReworkAction{{ID: "r1", At: time.Now(), By: "Mara Quill", What: inspect.StepRod, Direction: "tighten", Turns: 0.25}}
		}), []string{"Recorded since the verdict", "tighten 1/4 turn", "Take rework back"}},
	}
}

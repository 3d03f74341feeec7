package copies

import (
	"archive/zip"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"filippo.io/age"

	"sagitta/batch"
	"sagitta/batch/anchor"
	"sagitta/batch/record"
	"sagitta/batch/record/recordtest"
)

var theDay = time.Date(2026, 12, 1, 9, 0, 0, 0, time.UTC)

// belong are files of the folder that station makes which a copy holds beside the record.
var belong = map[string]string{"decoders/height.toml": "name = \"height\"\n", "photographs/QM-1/a.jpg": strings.Repeat("picture", 9000), "station.pub": "the public part",
	"sheet.toml": "heading = \"Quillmere\"\n", "mark.PNG": "the shop's mark"}

// station is a folder with an open record, what belongs to it, and what does not.
func station(t *testing.T) (dir string, db *record.DB) {
	t.Helper()
	dir = t.TempDir()
	db = recordtest.Must(record.Open(filepath.Join(dir, "record.db"), record.Options{Station: "bench 1"}))(t)
	t.Cleanup(func() { _ = db.Close() })
	grow(t, db, "Tove Aske")
	for _, of := range []map[string]string{belong, {"notes.txt": "of somebody", "tls/key.pem": "secret", "album.jpg/of-somebody.txt": "no picture"}} {
		for name, text := range of {
			write(t, filepath.Join(dir, filepath.FromSlash(name)), []byte(text))
		}
	}
	return dir, db
}

// grow adds an entry to the record's trail.
func grow(t *testing.T, db *record.DB, name string) {
	t.Helper()
	recordtest.Must(db.AddPerson(t.Context(), "x", name, batch.Inspector))(t)
}

func write(t *testing.T, path string, content []byte) {
	t.Helper()
	if err := errors.Join(os.MkdirAll(filepath.Dir(path), 0o750), os.WriteFile(path, content, 0o640)); err != nil {
		t.Fatal(err)
	}
}

func read(t *testing.T, path string) []byte {
	t.Helper()
	return recordtest.Must(os.ReadFile(path))(t)
}

func making(dir string) Making {
	return Making{Dir: dir, Station: "bench 1", Program: "sagitta test", Now: func() time.Time { return theDay }}
}

// names lists what a folder holds.
func names(t *testing.T, dir string) (all []string) {
	t.Helper()
	for _, e := range recordtest.Must(os.ReadDir(dir))(t) {
		all = append(all, e.Name())
	}
	return all
}

// wants checks an error's kind and words.
func wants(t *testing.T, err error, kind batch.ErrorKind, words ...string) {
	t.Helper()
	if err == nil {
		t.Errorf("it is done; want an error with %q", words)
		return
	}
	if batch.KindOf(err) != kind {
		t.Errorf("%v is of kind %d, want %d", err, batch.KindOf(err), kind)
	}
	for _, w := range words {
		if !strings.Contains(err.Error(), w) {
			t.Errorf("%q does not say %q", err, w)
		}
	}
}

// people are the names in a folder's record.
func people(t *testing.T, dir string) (all []string) {
	t.Helper()
	db := recordtest.Must(record.Open(filepath.Join(dir, "record.db"), record.Options{Station: "bench 1"}))(t)
	defer func() { _ = db.Close() }()
	if err := db.VerifyAudit(t.Context()); err != nil {
		t.Error(err)
	}
	for _, p := range recordtest.Must(db.People(t.Context()))(t) {
		all = append(all, p.Name)
	}
	return all
}

// A copy's archive has the newest checkpoint of the record that is in it, signed just before it was copied.
func TestArchiveCarriesTheCheckpoint(t *testing.T) {
	dir, db := station(t)
	key := recordtest.Must(anchor.ReadKey(recordtest.Must(anchor.NewKey("bench 1"))(t)))(t)
	if err := db.UseKey(t.Context(), key.Public); err != nil {
		t.Fatal(err)
	}
	how := making(dir)
	how.Sign = func(ctx context.Context) error {
		size, root, err := db.TreeHead(ctx)
		if err != nil {
			return err
		}
		c, err := key.Sign(size, root, time.Now())
		if err != nil {
			return err
		}
		return db.KeepCheckpoint(ctx, c)
	}
	write(t, filepath.Join(dir, anchor.CopyName), []byte("of a copy that was brought back"))
	path := filepath.Join(t.TempDir(), "shop.zip")
	recordtest.Must(Write(t.Context(), db, path, how))(t)
	file := recordtest.Must(os.ReadFile(path))(t)
	found, err := anchor.Find(bytes.NewReader(file), int64(len(file)))
	want := recordtest.Must(db.NewestCheckpoint(t.Context()))(t)
	if err != nil || len(found) != 1 || found[0] != *want {
		t.Errorf("found %+v, %v; want %+v", found, err, want)
	}
	size, _, err := db.TreeHead(t.Context())
	if err != nil || want.Size != size {
		t.Errorf("it is of %d entries, the record has %d, %v", want.Size, size, err)
	}
	recordtest.Must(Prove(t.Context(), path, nil, t.TempDir()))(t)
}

// Every kind of copy comes back with all that belongs to it, whole, and a station opens it.
func TestEveryKindOfCopyComesBack(t *testing.T) {
	dir, db := station(t)
	out := t.TempDir()
	id := recordtest.Must(age.GenerateX25519Identity())(t)
	other := recordtest.Must(age.GenerateX25519Identity())(t)
	sealed := making(dir)
	sealed.Recipients = []age.Recipient{id.Recipient()}
	recordtest.Must(Write(t.Context(), db, filepath.Join(out, "shop.zip"), making(dir)))(t)
	recordtest.Must(Write(t.Context(), db, filepath.Join(out, "shop.zip.age"), sealed))(t)
	if err := db.Backup(t.Context(), filepath.Join(out, "shop.db")); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"shop.zip", "shop.zip.age", "shop.db"} {
		t.Run(name, func(t *testing.T) {
			path, to := filepath.Join(out, name), filepath.Join(t.TempDir(), "shop")
			if mode := recordtest.Must(os.Stat(path))(t).Mode().Perm(); mode != 0o640 {
				t.Errorf("its mode is %o", mode)
			}
			if name == "shop.zip.age" {
				_, _, err := Restore(t.Context(), path, Restoring{Dir: filepath.Join(t.TempDir(), "a"), Now: theDay})
				wants(t, err, batch.Mendable, "it is encrypted", "--identity")
				_, _, err = Restore(t.Context(), path, Restoring{Dir: filepath.Join(t.TempDir(), "b"), Identities: []age.Identity{other}, Now: theDay})
				wants(t, err, batch.Mendable, "for somebody else")
			}
			p, aside, err := Restore(t.Context(), path, Restoring{Dir: to, Station: "bench 1", Identities: []age.Identity{id}, Now: theDay})
			if err != nil || aside != "" || p.Entries != 1 {
				t.Fatalf("%+v, %q, %v", p, aside, err)
			}
			if got := people(t, to); !slices.Equal(got, []string{"Tove Aske"}) {
				t.Errorf("people are %q", got)
			}
			if name == "shop.db" {
				return
			}
			if got := names(t, to); len(got) != 7 { // the five, the record and its lock
				t.Errorf("there are %q", got)
			}
			for part := range belong {
				if !bytes.Equal(read(t, filepath.Join(dir, part)), read(t, filepath.Join(to, part))) {
					t.Errorf("%s is another", part)
				}
			}
			for _, left := range names(t, to) {
				if strings.HasSuffix(left, partEnding) {
					t.Errorf("%s is left", left)
				}
			}
		})
	}
}

// A copy never overwrites, and needs its folder; refused, it leaves nothing.
func TestCopyOntoWhatIsThere(t *testing.T) {
	dir, db := station(t)
	out := t.TempDir()
	write(t, filepath.Join(out, "shop.zip"), []byte("mine"))
	_, err := Write(t.Context(), db, filepath.Join(out, "shop.zip"), making(dir))
	wants(t, err, batch.Conflict, "shop.zip", "never overwrites")
	_, err = Write(t.Context(), db, filepath.Join(out, "nowhere", "shop.zip"), making(dir))
	wants(t, err, batch.Absent, "nowhere does not exist")
	if got := names(t, out); !slices.Equal(got, []string{"shop.zip"}) || string(read(t, filepath.Join(out, "shop.zip"))) != "mine" {
		t.Errorf("there are %q", got)
	}
}

// Where there is a record, or was one, nothing is restored unless it is to be replaced, and then what was there lies beside.
func TestRestoreNeverOverARecord(t *testing.T) {
	dir, db := station(t)
	path := filepath.Join(t.TempDir(), "shop.zip")
	recordtest.Must(Write(t.Context(), db, path, making(dir)))(t)
	grow(t, db, "Wren Halloway")
	how := Restoring{Dir: dir, Now: theDay}
	_, _, err := Restore(t.Context(), path, how)
	wants(t, err, batch.Conflict, "record.db is there", "Nothing was changed", "--replace")
	how.Replace = true
	_, _, err = Restore(t.Context(), path, how)
	wants(t, err, batch.Machine, "in use by another station")
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	damaged := filepath.Join(t.TempDir(), "damaged.zip")
	write(t, damaged, read(t, path)[:9000])
	_, _, err = Restore(t.Context(), damaged, how)
	wants(t, err, batch.Machine, "nothing was restored", "damaged or cut short")
	if got := people(t, dir); len(got) != 2 {
		t.Errorf("after what was refused people are %q", got)
	}
	_, aside, err := Restore(t.Context(), path, how)
	if err != nil {
		t.Fatal(err)
	}
	if got := people(t, dir); !slices.Equal(got, []string{"Tove Aske"}) {
		t.Errorf("people are %q", got)
	}
	if got := people(t, aside); len(got) != 2 {
		t.Errorf("what was replaced has people %q", got)
	}
	if err := os.Remove(filepath.Join(dir, "record.db")); err != nil {
		t.Fatal(err)
	}
	how.Replace = false
	_, _, err = Restore(t.Context(), path, how)
	wants(t, err, batch.Conflict, "had one")
}

// A damaged copy is refused with its reason, or gives back exactly what was copied; whatever byte of it was changed.
func TestDamagedCopyIsRefused(t *testing.T) {
	dir, db := station(t)
	path := filepath.Join(t.TempDir(), "shop.zip")
	recordtest.Must(Write(t.Context(), db, path, making(dir)))(t)
	content := read(t, path)
	before := recordtest.Must(Prove(t.Context(), path, nil, t.TempDir()))(t)
	refused := 0
	for i := range 60 {
		at := i * (len(content) - 1) / 59
		changed := bytes.Clone(content)
		changed[at] ^= 0x10
		bad := filepath.Join(t.TempDir(), "bad.zip")
		write(t, bad, changed)
		p, err := Prove(t.Context(), bad, nil, t.TempDir())
		switch {
		case err != nil:
			refused++
			if !strings.Contains(err.Error(), bad) {
				t.Errorf("byte %d: %v", at, err)
			}
		case p.Newest != before.Newest || !slices.Equal(p.Files, before.Files):
			t.Errorf("byte %d was changed and it is taken for %+v", at, p)
		}
	}
	if refused < 50 {
		t.Errorf("only %d of 60 were refused", refused)
	}
	for name, c := range map[string]struct {
		content []byte
		kind    batch.ErrorKind
		says    string
	}{
		"empty":        {nil, batch.Mendable, "is empty"},
		"text":         {[]byte("a list of necks, not a copy"), batch.Mendable, "begins with"},
		"cut":          {content[:len(content)/2], batch.Machine, "damaged or cut short"},
		"no about":     {zipped(t, nil, "record.db", "x"), batch.Mendable, "holds no copy.json"},
		"no record":    {zipped(t, &About{Format: 1}), batch.Mendable, "holds no record.db"},
		"newer layout": {zipped(t, &About{Format: 9}), batch.Machine, "layout 9"},
		"out of place": {zipped(t, &About{Format: 1, Files: []Entry{{Name: "record.db"}, {Name: "../evil"}}}), batch.Mendable, `"../evil", which belongs to no station`},
		"missing file": {zipped(t, &About{Format: 1, Files: []Entry{{Name: "record.db"}}}), batch.Machine, "record.db is missing in it"},
		"other length": {zipped(t, &About{Format: 1, Files: []Entry{{Name: "record.db", Bytes: 3}}}, "record.db", "too long by far"), batch.Machine, "not as it was copied"},
	} {
		bad := filepath.Join(t.TempDir(), "bad.zip")
		write(t, bad, c.content)
		_, err := Prove(t.Context(), bad, nil, t.TempDir())
		t.Run(name, func(t *testing.T) { wants(t, err, c.kind, c.says) })
	}
}

// zipped is an archive with a description and files.
func zipped(t *testing.T, about *About, files ...string) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	if about != nil {
		text := recordtest.Must(json.Marshal(about))(t)
		_, _ = recordtest.Must(z.Create(aboutName))(t).Write(text)
	}
	for i := 0; i < len(files); i += 2 {
		_, _ = recordtest.Must(z.Create(files[i]))(t).Write([]byte(files[i+1]))
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// A record's file that was copied by hand from under a station is refused: its log is missing.
func TestRecordCopiedByHandIsRefused(t *testing.T) {
	dir, db := station(t)
	by := filepath.Join(t.TempDir(), "by-hand.db")
	write(t, by, read(t, filepath.Join(dir, "record.db")))
	_, _, err := Restore(t.Context(), by, Restoring{Dir: filepath.Join(t.TempDir(), "new"), Now: theDay})
	wants(t, err, batch.Machine, "nothing was restored", "its log is missing")
	write(t, by+"-wal", read(t, filepath.Join(dir, "record.db-wal")))
	to := filepath.Join(t.TempDir(), "new")
	if _, _, err := Restore(t.Context(), by, Restoring{Dir: to, Station: "bench 1", Now: theDay}); err != nil {
		t.Fatal(err)
	}
	if got := people(t, to); !slices.Equal(got, []string{"Tove Aske"}) {
		t.Errorf("people are %q", got)
	}
	_ = db
}

// A drill says true of a copy of this record, and what is wrong with any other; what it found stands in the folder.
func TestDrill(t *testing.T) {
	dir, db := station(t)
	_, otherDB := station(t)
	t.Setenv("TMPDIR", t.TempDir())
	grow(t, otherDB, "Wren Halloway")
	out := t.TempDir()
	good, other := filepath.Join(out, "good.zip"), filepath.Join(out, "other.zip")
	recordtest.Must(Write(t.Context(), db, good, making(dir)))(t)
	recordtest.Must(Write(t.Context(), otherDB, other, making(dir)))(t)
	if _, err := Drill(t.Context(), good, nil, dir); err != nil {
		t.Error(err)
	}
	_, err := Drill(t.Context(), other, nil, dir)
	wants(t, err, batch.Machine, "the copy is whole, and has 2 entries; the record in use has fewer")
	grow(t, db, "Ilse Marchetti-Roe")
	_, err = Drill(t.Context(), other, nil, dir)
	wants(t, err, batch.Machine, "is one of another record")
	garbled := filepath.Join(out, "garbled.zip")
	const text = "this is no record at all, and long enough to be looked at; this is no record at all, and long enough to be looked at"
	sum := sha256.Sum256([]byte(text))
	write(t, garbled, zipped(t, &About{Format: 1, Files: []Entry{{Name: "record.db", Bytes: int64(len(text)), SHA256: hex.EncodeToString(sum[:])}}}, "record.db", text))
	if _, bad := Drill(t.Context(), garbled, nil, dir); bad == nil || !strings.Contains(bad.Error(), garbled) || strings.Contains(bad.Error(), os.TempDir()) {
		t.Errorf("what holds no record: %v", bad)
	}
	if err := NoteDrill(dir, other, theDay, err); err != nil {
		t.Fatal(err)
	}
	s := recordtest.Must(Load(dir))(t)
	s.Plan = &Plan{To: out, Since: theDay}
	if due := s.Due(theDay, -1); len(due) != 1 || due[0].What != "drill" || !strings.Contains(due[0].Says, "another record") {
		t.Errorf("due are %+v", due)
	}
	if left := recordtest.Must(filepath.Glob(filepath.Join(os.TempDir(), "sagitta-drill-*")))(t); len(left) > 0 {
		t.Errorf("left are %q", left)
	}
}

// What is due is said when it is, and not before.
func TestWhatIsDue(t *testing.T) {
	plan := &Plan{To: "copies", At: 2 * time.Hour, MirrorTo: "stick", Since: theDay.AddDate(0, 0, -60)}
	well := Done{At: theDay.Add(-7 * time.Hour)}
	old := Done{At: theDay.AddDate(0, 0, -40)}
	bad := Done{At: theDay.AddDate(0, 0, -1), Failed: "the folder is not there", Since: theDay.Add(-time.Hour)}
	for name, c := range map[string]struct {
		state State
		free  int64
		says  []string
	}{
		"no plan":                {State{}, 5 << 30, nil},
		"all well":               {State{Plan: plan, Backup: well, Drill: well, Mirror: well}, 5 << 30, nil},
		"room unknown":           {State{Plan: plan, Backup: well, Drill: well}, -1, nil},
		"little room":            {State{Plan: plan, Backup: well, Drill: well}, 900 << 20, []string{"900 MB are left"}},
		"missed":                 {State{Plan: plan, Backup: old, Drill: well}, -1, []string{"the backup that was due has not been made"}},
		"failed":                 {State{Plan: plan, Backup: bad, Drill: well}, -1, []string{"the last backup failed: the folder is not there"}},
		"never proved":           {State{Plan: plan, Backup: well}, -1, []string{"no backup was proved for 60 days"}},
		"proved long ago":        {State{Plan: plan, Backup: well, Drill: old}, -1, []string{"no backup was proved for 40 days"}},
		"drill failed":           {State{Plan: plan, Backup: well, Drill: bad}, -1, []string{"the newest backup could not be proved"}},
		"stick gone":             {State{Plan: plan, Backup: well, Drill: well, Mirror: bad}, -1, []string{"the copy in stick no longer follows the record"}},
		"stick no longer wanted": {State{Plan: &Plan{}, Mirror: bad, Backup: bad, Drill: bad}, -1, nil},
	} {
		due := c.state.Due(theDay, c.free)
		if len(due) != len(c.says) {
			t.Errorf("%s: due are %+v", name, due)
			continue
		}
		for i, d := range due {
			if !strings.Contains(d.Says, c.says[i]) || d.Do == "" {
				t.Errorf("%s: %+v does not say %q and what to do", name, d, c.says[i])
			}
		}
	}
}

// keeper is one that runs by a clock of the test's.
func keeper(t *testing.T, dir string, db *record.DB, plan Plan, now *time.Time) *Keeper {
	t.Helper()
	k := &Keeper{Record: db, Plan: plan, Making: making(dir)}
	k.Now = func() time.Time { return *now }
	k.Start()
	return k
}

// A copy is made each day, made up for after a night without power, proved, and only so many are kept; what a killed station left is
// removed, and another's is not.
func TestDailyCopies(t *testing.T) {
	dir, db := station(t)
	out := t.TempDir()
	now := theDay
	k := keeper(t, dir, db, Plan{To: out, At: 2 * time.Hour, Keep: 3}, &now)
	k.Look(t.Context()) // the first at once, and no other before it is time
	now = now.Add(time.Hour)
	if k.Look(t.Context()); len(names(t, out)) != 2 {
		t.Errorf("before it is time there are %q", names(t, out))
	}
	write(t, filepath.Join(out, ".sagitta-bench-1-20261130-020000.zip.77.part", "record.db"), []byte("half"))
	write(t, filepath.Join(out, ".sagitta-bench-10-20261130-020000.zip.77.part", "record.db"), []byte("another's"))
	write(t, filepath.Join(out, "sagitta-bench-2-20201130-020000.zip"), []byte("another's"))
	for day := range 5 {
		now = theDay.AddDate(0, 0, day+1).Add(-6 * time.Hour)
		k.Look(t.Context())
		k.Look(t.Context())
		if due := k.Due(now, -1); len(due) > 0 {
			t.Errorf("due are %+v", due)
		}
	}
	want := []string{".sagitta-bench-10-20261130-020000.zip.77.part", "sagitta-bench-1-20261204-030000.zip", "sagitta-bench-1-20261205-030000.zip", "sagitta-bench-1-20261206-030000.zip", "sagitta-bench-2-20201130-020000.zip", markName}
	if got := names(t, out); !slices.Equal(got, want) {
		t.Errorf("there are %q, want %q", got, want)
	}
	s := recordtest.Must(Load(dir))(t)
	if filepath.Base(s.Drill.File) != "sagitta-bench-1-20261206-030000.zip" || !s.Drill.At.Equal(now) {
		t.Errorf("proved was %+v", s.Drill)
	}
	if newest := recordtest.Must(Newest(out))(t); newest != s.Backup.File {
		t.Errorf("the newest is %s, made was %s", newest, s.Backup.File)
	}
	now = now.AddDate(0, 0, 3)
	k = keeper(t, dir, db, k.Plan, &now) // off for some days
	if k.Look(t.Context()); !slices.Contains(names(t, out), "sagitta-bench-1-20261209-030000.zip") {
		t.Errorf("it is not made up for: %q", names(t, out))
	}
}

// A damaged state is made anew, and keeps no copy from being made.
func TestDamagedStateIsMadeAnew(t *testing.T) {
	dir, db := station(t)
	out := t.TempDir()
	write(t, filepath.Join(dir, stateName), []byte("{"))
	now := theDay
	k := keeper(t, dir, db, Plan{To: out, Keep: 3}, &now)
	k.Look(t.Context())
	if s := recordtest.Must(Load(dir))(t); s.Backup.File == "" || s.Plan == nil || s.Plan.To != out {
		t.Errorf("the state is %+v", s)
	}
}

// A folder that is not there, or another in its place, is told, tried again each hour, and goes on when the right one is back.
func TestFolderThatIsGone(t *testing.T) {
	dir, db := station(t)
	out := filepath.Join(t.TempDir(), "stick")
	if err := os.Mkdir(out, 0o750); err != nil {
		t.Fatal(err)
	}
	now := theDay.Add(24 * time.Hour)
	k := keeper(t, dir, db, Plan{To: out, MirrorTo: out, At: 2 * time.Hour, Keep: 3, Every: time.Minute, Since: theDay}, &now)
	k.Plan.Since, k.state.Plan.Since = theDay, theDay
	k.Look(t.Context())
	if due := k.Due(now, -1); len(due) > 0 || len(names(t, out)) != 3 {
		t.Fatalf("due are %+v, there are %q", due, names(t, out))
	}
	if err := os.Rename(out, out+".pulled"); err != nil {
		t.Fatal(err)
	}
	due := func(step string, want ...string) {
		t.Helper()
		k.Look(t.Context())
		var got []string
		for _, d := range k.Due(now, -1) {
			got = append(got, d.What+": "+d.Says)
		}
		if len(got) != len(want) {
			t.Errorf("%s: due are %q, want %q", step, got, want)
			return
		}
		for i := range want {
			if !strings.Contains(got[i], want[i]) {
				t.Errorf("%s: %q does not say %q", step, got[i], want[i])
			}
		}
	}
	grow(t, db, "Wren Halloway")
	now = now.Add(2 * time.Minute)
	due("pulled", "plug in what it is on")
	if err := os.Mkdir(out, 0o750); err != nil { // where it was mounted
		t.Fatal(err)
	}
	now = now.Add(24 * time.Hour)
	due("an empty folder", "backup: the last backup failed", "is not the one that copies went to")
	if got := names(t, out); len(got) != 0 {
		t.Errorf("written was %q into the wrong folder", got)
	}
	if err := errors.Join(os.Remove(out), os.Rename(out+".pulled", out)); err != nil {
		t.Fatal(err)
	}
	now = now.Add(2 * time.Minute)
	due("back", "backup: the last backup failed")
	now = now.Add(time.Hour)
	due("an hour later")
	to := filepath.Join(t.TempDir(), "new")
	if _, _, err := Restore(t.Context(), filepath.Join(out, "sagitta-bench-1.db"), Restoring{Dir: to, Station: "bench 1", Now: now}); err != nil {
		t.Fatal(err)
	}
	if got := people(t, to); len(got) != 2 {
		t.Errorf("the copy that follows has %q", got)
	}
}

// The copy that follows is made anew when something was recorded, at once after a verdict, and not when nothing was.
func TestCopyThatFollows(t *testing.T) {
	dir, db := station(t)
	out := t.TempDir()
	now := theDay
	k := keeper(t, dir, db, Plan{MirrorTo: out, Every: 5 * time.Minute}, &now)
	path := filepath.Join(out, "sagitta-bench-1.db")
	people := func() (n int) {
		t.Helper()
		k.mirroring = 0 // however slow this machine is
		k.Look(t.Context())
		copied := recordtest.Must(record.Open(path, record.Options{ReadOnly: true}))(t)
		defer func() { _ = copied.Close() }()
		return len(recordtest.Must(copied.People(t.Context()))(t))
	}
	for i, step := range []struct {
		after time.Duration
		grow  bool
		want  int
	}{{0, false, 1}, {time.Minute, true, 1}, {3 * time.Minute, false, 1}, {2 * time.Minute, false, 2}} {
		if now = now.Add(step.after); step.grow {
			grow(t, db, fmt.Sprint("person ", i))
		}
		if got := people(); got != step.want {
			t.Errorf("step %d: %d people in the copy, want %d", i, got, step.want)
		}
	}
	before := recordtest.Must(os.Stat(path))(t)
	now = now.Add(time.Hour)
	if people(); !os.SameFile(before, recordtest.Must(os.Stat(path))(t)) {
		t.Error("nothing was recorded, and it was made anew")
	}
	k.verdicts-- // as after a verdict
	k.copied--
	now = now.Add(time.Second)
	if people(); os.SameFile(before, recordtest.Must(os.Stat(path))(t)) {
		t.Error("after a verdict it was not made anew")
	}
}

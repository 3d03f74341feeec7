package anchors

import (
	"context"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/anchor"
	"sagitta/batch/record"
)

// station is a record with its signer.
type station struct {
	*testing.T
	dir string
	opt Options
	*Signer
}

func open(t *testing.T, opt Options) *station {
	t.Helper()
	s := &station{T: t, dir: opt.Dir, opt: opt}
	if s.dir == "" {
		s.dir = t.TempDir()
	}
	s.start()
	t.Cleanup(func() { _ = s.Record.Close() })
	return s
}

// begin opens the record and the signer; the error is the start's.
func (s *station) begin() error {
	s.Helper()
	db, err := record.Open(filepath.Join(s.dir, "record.db"), record.Options{Station: "bench 1"})
	if err != nil {
		s.Fatal(err)
	}
	s.opt.Record, s.opt.Dir, s.opt.Station = db, s.dir, "bench 1"
	s.Signer = New(s.opt)
	return s.Start(s.Context())
}

func (s *station) start() {
	s.Helper()
	if err := s.begin(); err != nil {
		s.Fatal(err)
	}
}

func (s *station) end() {
	s.Helper()
	if err := s.Record.Close(); err != nil {
		s.Fatal(err)
	}
}

// says writes something into the record.
func (s *station) says(name string) {
	s.Helper()
	if _, err := s.Record.AddPerson(s.Context(), "", name, "inspector"); err != nil {
		s.Fatal(err)
	}
}

func (s *station) sign() {
	s.Helper()
	if err := s.Sign(s.Context()); err != nil {
		s.Fatal(err)
	}
}

func (s *station) newest() *anchor.Checkpoint {
	s.Helper()
	c, err := s.Record.NewestCheckpoint(s.Context())
	if err != nil {
		s.Fatal(err)
	}
	return c
}

// signedAll checks that the newest checkpoint covers everything and is signed with the key in the station's folder.
func (s *station) signedAll() {
	s.Helper()
	c := s.newest()
	size, root, err := s.Record.TreeHead(s.Context())
	if err != nil {
		s.Fatal(err)
	}
	public, err := os.ReadFile(filepath.Join(s.dir, PublicName))
	if err != nil {
		s.Fatal(err)
	}
	if c == nil || c.Size != size || c.Root != root || c.Verify(strings.TrimSpace(string(public))) != nil {
		s.Errorf("the newest checkpoint is %+v; the record has %d entries, root %v, its key is %s", c, size, root, public)
	}
}

func (s *station) noted() (notes int) {
	s.Helper()
	events, err := s.Record.Audit(s.Context(), 0)
	if err != nil {
		s.Fatal(err)
	}
	for _, e := range events {
		if e.What == "record is not what was signed" {
			notes++
		}
	}
	return notes
}

// The key is made at the first start, for the station's user alone, and the same one signs all that comes.
func TestRecordIsSigned(t *testing.T) {
	s := open(t, Options{})
	s.says("Ada Wynn")
	s.sign()
	s.signedAll()
	first := s.newest()
	s.sign()
	if again := s.newest(); *again != *first {
		t.Error("what is signed already was signed once more")
	}
	info, err := os.Stat(filepath.Join(s.dir, "station.key"))
	if err != nil || runtime.GOOS != "windows" && info.Mode().Perm() != 0o600 {
		t.Errorf("the key: %v, %v", info, err)
	}
	s.end()
	s.start()
	s.says("Mara Quill")
	s.sign()
	s.signedAll()
	if c := s.newest(); c.Key != first.Key || s.noted() != 0 {
		t.Errorf("signed by %s after %s, %d times not what was signed", c.Key, first.Key, s.noted())
	}
}

// What asks for a checkpoint gets one by itself.
func TestWhatAsksIsSigned(t *testing.T) {
	s := open(t, Options{})
	ctx, end := context.WithCancel(t.Context())
	ran := make(chan struct{})
	go func() { s.Signer.Run(ctx); close(ran) }()
	b, err := batchOf(s)
	if err != nil {
		t.Fatal(err)
	}
	before := s.newest()
	if err := s.Record.CloseBatch(t.Context(), "Mara Quill", b.Number); err != nil {
		t.Fatal(err)
	}
	size, _, err := s.Record.TreeHead(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for c := before; c == nil || c.Size < size; c = s.newest() {
		time.Sleep(time.Millisecond)
	}
	end()
	<-ran
	s.signedAll()
}

func batchOf(s *station) (batch.Batch, error) {
	s.says("Mara Quill")
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "demo", "qm-bolt-648.toml"))
	if err != nil {
		return batch.Batch{}, err
	}
	spec, err := s.Record.AddSpec(s.Context(), "Mara Quill", "", "bolt.toml", text)
	if err != nil {
		return batch.Batch{}, err
	}
	return s.Record.OpenBatch(s.Context(), "Mara Quill", batch.Batch{Number: "QM-2611", Spec: spec, Planned: 1}, []string{"QM-2611-0001"})
}

// An older copy under the station is told in the trail once, and the record goes on and is signed.
func TestOlderCopyIsNoticed(t *testing.T) {
	s := open(t, Options{})
	s.says("Ada Wynn")
	old := filepath.Join(t.TempDir(), "old.db")
	if err := s.Record.Backup(t.Context(), old); err != nil {
		t.Fatal(err)
	}
	s.says("Mara Quill")
	s.says("Ilse Quill")
	s.says("Tobias Fenn")
	s.sign()
	lost := s.newest()
	s.end()
	text, err := os.ReadFile(old)
	if err == nil {
		err = os.WriteFile(filepath.Join(s.dir, "record.db"), text, 0o640)
	}
	if err != nil {
		t.Fatal(err)
	}
	_ = os.Remove(filepath.Join(s.dir, "record.db-wal"))
	s.start()
	if s.noted() != 1 {
		t.Fatalf("it is noted %d times", s.noted())
	}
	events, err := s.Record.Audit(t.Context(), 0)
	if err != nil {
		t.Fatal(err)
	}
	if e := events[0]; e.Detail != lost.Note || !strings.Contains(e.About, "here there are") {
		t.Errorf("the trail says %+v, want the note %q", e, lost.Note)
	}
	s.signedAll()
	s.end()
	s.start()
	if s.noted() != 1 {
		t.Error("it is noted once more at the next start")
	}
	if err := s.Record.VerifyAudit(t.Context()); err != nil {
		t.Error(err)
	}
}

// A key that was named and is missing keeps the station of a signed record from starting; an empty file of its name is filled.
func TestMissingKey(t *testing.T) {
	stick := t.TempDir()
	path := filepath.Join(stick, "bench.key")
	s := open(t, Options{Key: path})
	s.signedAll()
	first := s.newest().Key
	if _, err := os.Stat(filepath.Join(s.dir, "station.key")); err == nil {
		t.Error("a key is in the folder although another place was named")
	}
	s.end()
	if err := os.Rename(path, path+".away"); err != nil {
		t.Fatal(err)
	}
	if err := s.begin(); batch.KindOf(err) != batch.Mendable || !strings.Contains(err.Error(), path) {
		t.Errorf("without its key: %v", err)
	}
	s.end()
	if err := os.WriteFile(path, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	s.start()
	s.signedAll()
	if s.newest().Key == first {
		t.Error("the key is no new one")
	}
	s.end()
	if err := os.WriteFile(path, []byte("not a key"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := s.begin(); batch.KindOf(err) != batch.Mendable || strings.Contains(err.Error(), "not a key") {
		t.Errorf("with a damaged key: %v", err)
	}
}

// While the place of a key that was named is away nothing is signed, and nothing is kept as if it were: once it is back all is signed, once.
func TestKeyIsPulled(t *testing.T) {
	stick := filepath.Join(t.TempDir(), "stick")
	if err := os.Mkdir(stick, 0o750); err != nil {
		t.Fatal(err)
	}
	s := open(t, Options{Key: filepath.Join(stick, "bench.key")})
	first := s.newest()
	if err := os.Rename(stick, stick+".pulled"); err != nil {
		t.Fatal(err)
	}
	s.says("Ada Wynn")
	for range 3 {
		if err := s.Sign(t.Context()); err == nil {
			t.Fatal("signed though what was signed last cannot be kept")
		}
	}
	after, err := s.Record.CheckpointsAfter(t.Context(), first.Size)
	if err != nil || len(after) != 0 || len(s.Due()) != 1 {
		t.Errorf("kept are %+v, %v; due is %+v", after, err, s.Due())
	}
	if err := os.Rename(stick+".pulled", stick); err != nil {
		t.Fatal(err)
	}
	s.sign()
	s.signedAll()
	if after, err = s.Record.CheckpointsAfter(t.Context(), first.Size); err != nil || len(after) != 1 {
		t.Errorf("kept are %+v, %v", after, err)
	}
}

// The witness's file of the day has every checkpoint, those too that it missed while its folder was away; an empty folder in its place is not written to.
func TestWitness(t *testing.T) {
	stick := filepath.Join(t.TempDir(), "stick")
	s := open(t, Options{Witness: stick})
	if due := s.Due(); len(due) != 1 || !strings.Contains(due[0].Says, stick) {
		t.Fatalf("without a folder: %+v", due)
	}
	if err := os.Mkdir(stick, 0o750); err != nil {
		t.Fatal(err)
	}
	s.sign()
	if due := s.Due(); len(due) != 0 {
		t.Errorf("with the folder: %+v", due)
	}
	s.says("Ada Wynn")
	s.sign()
	if err := os.Rename(stick, stick+".pulled"); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(stick, 0o750); err != nil {
		t.Fatal(err)
	}
	s.says("Mara Quill")
	s.sign()
	s.end()
	s.start()
	s.says("Ilse Quill")
	s.sign()
	if found, err := os.ReadDir(stick); err != nil || len(found) != 0 || len(s.Due()) != 1 {
		t.Errorf("in an empty folder: %v, %v; due %+v", found, err, s.Due())
	}
	if err := os.Remove(stick); err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(stick+".pulled", stick); err != nil {
		t.Fatal(err)
	}
	s.sign()
	if due := s.Due(); len(due) != 0 {
		t.Errorf("with the folder back: %+v", due)
	}
	want, err := s.Record.CheckpointsAfter(t.Context(), 0)
	if err != nil {
		t.Fatal(err)
	}
	var has []anchor.Checkpoint
	files, err := fs.Glob(os.DirFS(stick), "sagitta-bench-1-*.txt")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range files {
		f, err := os.Open(filepath.Join(stick, name))
		if err != nil {
			t.Fatal(err)
		}
		info, err := f.Stat()
		if err != nil {
			t.Fatal(err)
		}
		all, err := anchor.Find(f, info.Size())
		if err != nil {
			t.Fatal(err)
		}
		has = append(has, all...)
		_ = f.Close()
	}
	if len(has) != len(want) || len(want) < 4 {
		t.Fatalf("the witness has %d checkpoints, the record %d", len(has), len(want))
	}
	for i := range want {
		if has[i] != want[i] {
			t.Errorf("checkpoint %d is %+v, want %+v", i, has[i], want[i])
		}
	}
}

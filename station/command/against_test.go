package command

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"sagitta/batch/anchor"
	"sagitta/batch/record"
	"sagitta/batch/tell"
	"sagitta/station/anchors"
)

// signedStation is a folder with a signed record to which people were added, one after the other, each signed for.
type signedStation struct {
	*testing.T
	dir string
}

func (s *signedStation) adds(names ...string) (signed []anchor.Checkpoint) {
	s.Helper()
	db, err := record.Open(filepath.Join(s.dir, "record.db"), record.Options{Station: "bench 1"})
	if err != nil {
		s.Fatal(err)
	}
	defer func() {
		if err := db.Close(); err != nil {
			s.Fatal(err)
		}
	}()
	signer := anchors.New(anchors.Options{Record: db, Dir: s.dir, Station: "bench 1"})
	if err := signer.Start(s.Context()); err != nil {
		s.Fatal(err)
	}
	for _, name := range names {
		if _, err := db.AddPerson(s.Context(), "", name, "inspector"); err != nil {
			s.Fatal(err)
		}
		if err := signer.Sign(s.Context()); err != nil {
			s.Fatal(err)
		}
		c, err := db.NewestCheckpoint(s.Context())
		if err != nil {
			s.Fatal(err)
		}
		signed = append(signed, *c)
	}
	return signed
}

func (s *signedStation) file(name, text string) string {
	s.Helper()
	path := filepath.Join(s.TempDir(), name)
	if err := os.WriteFile(path, []byte(text), 0o640); err != nil {
		s.Fatal(err)
	}
	return path
}

// What left the building is compared with records of which it is known what was done to them.
func TestVerifyAgainst(t *testing.T) {
	s := &signedStation{t, t.TempDir()}
	signed := s.adds("Ada Wynn", "Mara Quill")
	older := filepath.Join(t.TempDir(), "older.db")
	if code, _, errs := sagitta(t, "", "backup", older, "--data", s.dir); code != exitDone {
		t.Fatal(errs)
	}
	signed = append(signed, s.adds("Ilse Quill", "Tobias Fenn")...)
	first, copied, newest := s.file("first.txt", signed[0].Note), s.file("copied.txt", signed[1].Note), s.file("newest.txt", signed[3].Note)

	restored := &signedStation{t, t.TempDir()} // written on after an older copy was brought back, by a station with another key
	if code, _, errs := sagitta(t, "", "restore", older, "--data", restored.dir); code != exitDone {
		t.Fatal(errs)
	}
	restored.adds("Ossian Reed", "Wren Hall", "Jude Marsh", "Kit Wells", "Lee Wells")
	others := (&signedStation{t, t.TempDir()}).adds("Ossian Reed") // of fewer entries than the first station's
	other := s.file("other.txt", others[0].Note)
	nothing, gone := s.file("x.txt", "x"), filepath.Join(t.TempDir(), "gone.pdf")
	altered := s.file("altered.txt", strings.Replace(signed[1].Note, "at 20", "at 19", 1))

	for _, c := range []struct {
		name, data string
		against    []string
		code       int
		words      []string
	}{
		{"what holds", s.dir, []string{first}, exitDone, []string{"first.txt: all that was recorded up to ", " is still there unchanged; 3 entries were added since."}},
		{"the newest", s.dir, []string{newest}, exitDone, []string{" is still there unchanged.\n"}},
		{"a copy", s.dir, []string{older}, exitDone, []string{"older.db: all that was recorded"}},
		{"an older copy's end", older, []string{first, newest}, exitReject,
			[]string{"first.txt: all that was recorded", "newest.txt: ", "its end is missing. It was cut off, or an older copy was brought back.", "all is as it was: what was rewritten or is missing came after that.", "came after that"}},
		{"an older copy written on", restored.dir, []string{copied, newest}, exitReject,
			[]string{"copied.txt: all that was recorded", "newest.txt: what was recorded up to ", "is not what stands here: it was rewritten after that, or an older copy was brought back and written on.", "all is as it was: what was rewritten or is missing came after that."}},
		{"another record's", s.dir, []string{other}, exitReject, []string{"other.txt: what was recorded", "But it is signed with another key than this record's: " + others[0].Key}},
		{"altered", s.dir, []string{altered}, exitFailed, []string{"altered.txt: it shows nothing", "is not valid"}},
		{"a witness's", restored.dir, []string{s.file("witness.txt", signed[0].Note+"\n"+signed[3].Note+"\n")}, exitReject, []string{"is not what stands here", "all is as it was: what was rewritten or is missing came after that."}},
		{"nothing", s.dir, []string{nothing}, exitFailed, []string{nothing + ": it shows nothing: there is no checkpoint in it\n", "sagitta: the file shows nothing of the record"}},
		{"nothing beside what holds", s.dir, []string{first, nothing, gone, newest}, exitFailed,
			[]string{"first.txt: all that was recorded", nothing + ": it shows nothing: there is no checkpoint in it\n", gone + ": it shows nothing: ", "newest.txt: all that was recorded", "sagitta: of 4 files 2 agree with the record and 2 show nothing of it\n"}},
		{"nothing before what was rewritten", restored.dir, []string{nothing, t.TempDir(), altered, copied, newest}, exitReject,
			[]string{": it shows nothing: there is no checkpoint in it\n", "copied.txt: all that was recorded", "newest.txt: what was recorded up to ", "all is as it was: what was rewritten or is missing came after that.",
				"sagitta: of 5 files 1 agrees with the record, 1 does not agree with it and 3 show nothing of it\n"}},
		{"an altered one before one that was rewritten, in one file", restored.dir, []string{s.file("two.txt", strings.Replace(signed[1].Note, "at 20", "at 19", 1)+"\n"+signed[3].Note)}, exitReject, []string{"two.txt: what was recorded up to "}},
		{"all hold", s.dir, []string{first, newest}, exitDone, []string{"All 2 files agree with the record.\n"}},
		{"noted key", s.dir, []string{first, "--signed-by", signed[0].Key}, exitDone, []string{"is still there unchanged"}},
		{"another noted key", s.dir, []string{first, "--signed-by", others[0].Key}, exitReject, []string{"is still there unchanged; 3 entries", "But it is signed with another key"}},
		{"no file", s.dir, nil, exitUsage, []string{"--against needs a FILE"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			code, out, errs := sagitta(t, "", append([]string{"verify", "--data", c.data, "--against"}, c.against...)...)
			if code != c.code {
				t.Errorf("code %d, want %d", code, c.code)
			}
			for _, words := range c.words {
				if !strings.Contains(out+errs, words) {
					t.Errorf("%q is not said in\n%s%s", words, out, errs)
				}
			}
		})
	}
	if code, out, _ := sagitta(t, strings.ReplaceAll(signed[2].Note, "\n", "\r\n"), "verify", "--data", s.dir, "--against", "-"); code != exitDone || !strings.Contains(out, "-: all that was recorded") {
		t.Errorf("from standard input: %d, %s", code, out)
	}
}

// Verify says what of the evidence is signed, by which key, and help says what that does not show.
func TestVerifyPrintsTheAnchor(t *testing.T) {
	s := &signedStation{t, t.TempDir()}
	c := s.adds("Ada Wynn")[0]
	code, out, errs := sagitta(t, "", "verify", "--data", s.dir)
	if code != exitDone || !strings.Contains(out, "Its evidence has 2 entries, one for each time that something was written: readings too, which the trail does not list. Their root is "+c.Root.String()) || !strings.Contains(out, " covers all of them. It is signed with the public key "+c.Key+"\n") {
		t.Errorf("code %d: %s%s", code, out, errs)
	}
	public, err := os.ReadFile(filepath.Join(s.dir, anchors.PublicName))
	if err != nil || string(public) != c.Key+"\n" {
		t.Errorf("the public key in the folder is %q, %v; want %q", public, err, c.Key)
	}
	db, err := record.Open(filepath.Join(s.dir, "record.db"), record.Options{Station: "bench 1"})
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"Mara Quill", "Ilse Quill"} {
		if _, err := db.AddPerson(t.Context(), "", name, "inspector"); err != nil {
			t.Fatal(err)
		}
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	if _, out, _ := sagitta(t, "", "verify", "--data", s.dir); !strings.Contains(out, " covers the first 2; 2 were recorded since. ") {
		t.Errorf("after two more entries: %s", out)
	}
	if _, out, _ := sagitta(t, "", "verify", "--help"); !strings.Contains(strings.Join(strings.Fields(out), " "), tell.AnchorLimit) {
		t.Errorf("help does not say the limit: %s", out)
	}
}

// A copy that was made before its newest entry was signed holds what was signed later, and not the checkpoint: both are said.
func TestVerifySaysThatACheckpointIsGone(t *testing.T) {
	s := &signedStation{t, t.TempDir()}
	s.adds("Ada Wynn")
	db, err := record.Open(filepath.Join(s.dir, "record.db"), record.Options{Station: "bench 1"})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.AddPerson(t.Context(), "", "Mara Quill", "inspector"); err != nil {
		t.Fatal(err)
	}
	copied := filepath.Join(t.TempDir(), "copy.db")
	if err := errors.Join(db.Backup(t.Context(), copied), db.Close()); err != nil {
		t.Fatal(err)
	}
	s.adds() // its start signs
	db, err = record.Open(filepath.Join(s.dir, "record.db"), record.Options{ReadOnly: true})
	if err != nil {
		t.Fatal(err)
	}
	c, err := db.NewestCheckpoint(t.Context())
	if err := errors.Join(err, db.Close()); err != nil {
		t.Fatal(err)
	}
	note := s.file("note.txt", c.Note)
	const gone = "But the record does not hold this checkpoint itself any more: it was removed, or an older copy was brought back."
	for data, wants := range map[string]bool{copied: true, s.dir: false} {
		code, out, errs := sagitta(t, "", "verify", "--data", data, "--against", note)
		if code != exitDone || !strings.Contains(out, "is still there unchanged.") || strings.Contains(out, gone) != wants {
			t.Errorf("%s: code %d: %s%s", data, code, out, errs)
		}
	}
}

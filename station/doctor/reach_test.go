package doctor

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record"
	"sagitta/station/certificate"
)

// here is a station for this machine alone.
var here = Reach{Listen: "127.0.0.1:8470"}

// part is the finding on a part, its state "" where there is none.
func part(found []Finding, name string) Finding {
	for _, f := range found {
		if f.Part == name {
			return f
		}
	}
	return Finding{}
}

// TestReachIsTold plants each way in which other machines could not, or should not, reach the pages.
func TestReachIsTold(t *testing.T) {
	dir, m := shop(t), soundMachine()
	at := time.Now()
	m.Now = func() time.Time { return at }
	looks := func(what, name string, r Reach, state State, says ...string) {
		t.Helper()
		f := part(m.Station(t.Context(), dir, r), name)
		if f.State != state {
			t.Errorf("%s: %+v, want %s", what, f, state)
		}
		for _, s := range says {
			if !strings.Contains(f.Says+" "+f.Do, s) {
				t.Errorf("%s: %+v does not say %q", what, f, s)
			}
		}
	}
	others := Reach{Listen: ":8470"}
	looks("this machine alone", "Sign-on", here, Well, "this machine only")
	looks("others, without sign-on", "Sign-on", others, Wrong, ":8470", "refuses", "page People")
	looks("others by an address", "Sign-on", Reach{Listen: "192.0.2.7:8470"}, Wrong)
	looks("localhost", "Sign-on", Reach{Listen: "localhost:8470"}, Well)
	looks("no certificate yet", "Certificate", others, "")
	signOnAt(t, dir)
	looks("people sign on", "Sign-on", others, Well, "People sign on")

	k, err := certificate.Own(dir, []string{"bench-1"}, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	ends, given := k.Leaf().NotAfter, Reach{Listen: ":8470", Certificate: certificate.Of(dir)}
	looks("the station's own", "Certificate", others, Well, certificate.Fingerprint(k.Leaf()), ends.In(m.Zone).Format("2006-01-02"))
	at = ends.Add(-time.Hour)
	looks("the station's own, soon to be renewed", "Certificate", others, Well)
	looks("a given one that ends soon", "Certificate", given, Look, "It ends on", "Renew the files")
	at = ends.Add(time.Hour)
	looks("the station's own, ended", "Certificate", others, Look, "It ended on", "makes another")
	looks("a given one, ended", "Certificate", given, Wrong, "browsers refuse it")
	at = time.Now()
	if err := os.Chmod(certificate.Of(dir).Key, 0o644); err != nil {
		t.Fatal(err)
	}
	looks("a key for all to read", "Certificate", others, Wrong, certificate.Of(dir).Key, "chmod 600")
	if err := os.Remove(certificate.Of(dir).Key); err != nil {
		t.Fatal(err)
	}
	looks("a given key that is not there", "Certificate", given, Wrong, certificate.Of(dir).Key, "--tls-key")
	if err := os.WriteFile(certificate.Of(dir).Certificate, []byte("nothing"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(certificate.Of(dir).Key, []byte("nothing"), 0o600); err != nil {
		t.Fatal(err)
	}
	looks("damaged files", "Certificate", others, Look, "Move both files away")
}

// signOnAt has people sign on in the record of a folder.
func signOnAt(t *testing.T, dir string) {
	t.Helper()
	db, err := record.Open(filepath.Join(dir, "record.db"), record.Options{Station: "bench 1"})
	if err != nil {
		t.Fatal(err)
	}
	err = db.IssueCode(t.Context(), batch.AtTheMachine, "", "digest", time.Now().Add(time.Hour))
	if err == nil {
		_, err = db.UseCode(t.Context(), "digest", "Ines Vael", map[batch.SecretKind]string{batch.Password: "a hash"})
	}
	if err == nil {
		err = db.SetPeopleSignOn(t.Context(), batch.AtTheMachine, true)
	}
	if err == nil {
		err = db.Close()
	}
	if err != nil {
		t.Fatal(err)
	}
}

// TestReleaseOfGo: an older release than go.mod names is told, a newer one is not.
func TestReleaseOfGo(t *testing.T) {
	for built, state := range map[string]State{"go1.26.8": Look, "go1.25": Look, mendedGo: Well, "go1.27.1": Well, "go1.26.10 X:none": Well, "go1.26rc1": Look} {
		if f := program(built); f.State != state || !strings.Contains(f.Says, strings.Fields(built)[0]) {
			t.Errorf("%s: %+v", built, f)
		}
	}
	mod, err := os.ReadFile("../../go.mod")
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(mod), "\ntoolchain "+mendedGo+"\n") {
		t.Errorf("go.mod does not name %s", mendedGo)
	}
}

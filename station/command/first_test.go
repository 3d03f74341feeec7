package command

import (
	"bytes"
	"regexp"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/station/app"
)

// While there is no administrator the station prints a code, which makes one; from then on people sign on, and none is printed.
func TestFirstCodeMakesTheAdministrator(t *testing.T) {
	a, err := app.Open(t.Context(), app.Options{Dir: t.TempDir(), Name: "bench 1", Listen: "127.0.0.1:0"})
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = a.Close() }()
	printed := func() string {
		var out, errs bytes.Buffer
		firstCode(t.Context(), &out, &errs, a)
		if errs.Len() > 0 {
			t.Errorf("to standard error: %s", &errs)
		}
		return out.String()
	}
	said := printed()
	code := regexp.MustCompile(`\n    ([A-Z2-7]{5}(?:-[A-Z2-7]{5}){3})\n`).FindStringSubmatch(said)
	if code == nil || !strings.Contains(said, a.URL()+"sign-on/code") {
		t.Fatalf("printed: %s", said)
	}
	p, err := a.SignOn.UseCode(t.Context(), code[1], "Ines Vael", "four herons mend a violet roof", "290417")
	if err != nil || !p.May(batch.ManagePeople) {
		t.Fatalf("%+v, %v", p, err)
	}
	if on, err := a.SignOn.On(t.Context()); err != nil || !on {
		t.Errorf("people sign on: %t, %v", on, err)
	}
	if said := printed(); said != "" {
		t.Errorf("printed with an administrator: %s", said)
	}
}

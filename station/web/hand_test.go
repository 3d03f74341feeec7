package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"sagitta/batch"
	"sagitta/station/web/webtest"
)

// Nobody is put at the bench by a name alone: where people sign on the first steps refuse it to everybody.
func TestFirstStepsPutNobodyAtTheBench(t *testing.T) {
	s := openSigned(t)
	s.at("Ossian Reed")
	for who := range staff {
		status, body, _ := s.ask(http.MethodPost, "/start/name", s.cookie(who, batch.ByPassword), url.Values{"name": {"Mira Sund"}})
		if status < 400 || s.hand() != "Ossian Reed" {
			t.Errorf("%s names the manager: status %d; at the bench is %s\n%.500s", who, status, s.hand(), body)
		}
	}
}

// The first specification is released by the manager's password, and is not offered to who may not.
func TestTheFirstSpecificationIsSigned(t *testing.T) {
	s := openSigned(t)
	manager := s.cookie("Mira Sund", batch.ByPassword)
	before := len(webtest.Must[[]batch.SpecRevision](t)(s.Rec.Specs(t.Context())))
	for _, c := range []struct {
		form  url.Values
		done  bool
		words string
	}{
		{url.Values{"template": {"classical"}}, false, "password"},
		{url.Values{"template": {"classical"}, "password": {"four herons mend a violet barn"}}, false, "do not belong together"},
		{url.Values{"template": {"classical"}, "password": {password}}, true, ""},
	} {
		status, body, _ := s.ask(http.MethodPost, "/start/spec", manager, c.form)
		if (status == http.StatusSeeOther) != c.done || !strings.Contains(body, c.words) || strings.Contains(body, "violet barn") {
			t.Errorf("%v: status %d, want done %v and %q\n%.2000s", c.form, status, c.done, c.words, body)
		}
	}
	if after := len(webtest.Must[[]batch.SpecRevision](t)(s.Rec.Specs(t.Context()))); after != before+1 {
		t.Errorf("%d specifications, want one more than %d", after, before)
	}
	_, page, _ := s.ask(http.MethodGet, "/start", s.cookie("Ossian Reed", batch.ByPassword), nil)
	if strings.Contains(page, `action="/start/spec"`) || strings.Contains(page, `action="/start/neck"`) {
		t.Error("an inspector is offered what takes a quality manager")
	}
}

// What other pages have the bench do is as what is done on the bench itself: of who is at it, and of nobody else.
func TestOtherPagesLeaveTheBenchToItsHand(t *testing.T) {
	s := openSigned(t)
	s.at("Ossian Reed")
	manager := s.cookie("Mira Sund", batch.ByPassword)
	for _, path := range []string{"/gauges/" + s.Gauge.ID + "/check", "/studies/x/bench", "/studies/x/leave", "/start/neck"} {
		status, body, _ := s.ask(http.MethodPost, path, manager, url.Values{"serial": {"QM-2611-0001"}})
		if status != http.StatusConflict || !strings.Contains(body, "Ossian Reed is at the bench") {
			t.Errorf("%s by somebody who is not at the bench: status %d\n%.500s", path, status, body)
		}
	}
	if snap := s.bench.Snapshot(); snap.Check != nil || snap.Study != nil {
		t.Error("the bench checks or studies")
	}
}

// A badge is the same badge whatever the scanner sends around it: it signs its owner on, and their browser with them.
func TestScannersMarksAreNoPartOfABadge(t *testing.T) {
	s := openSigned(t)
	if err := s.Rec.SetBadge(batch.WithSeals(t.Context(), batch.Seal{By: "Ines Vael"}), "Ines Vael", "Joss Thorne", "JT-0417"); err != nil {
		t.Fatal(err)
	}
	for _, sent := range []string{"JT-0417", "]C1JT-0417", "*jt-0417*", "jt-0417\r"} {
		for route, field := range map[string]string{"/bench/entry": "text", "/bench/inspector": "badge"} {
			s.at("Ossian Reed")
			status, body, _ := s.ask(http.MethodPost, route, nil, url.Values{field: {sent}})
			if status != http.StatusSeeOther || s.hand() != "Joss Thorne" {
				t.Errorf("%s with %q: status %d, at the bench is %s\n%.500s", route, sent, status, s.hand(), body)
			}
		}
	}
}

// Who decides at the bench and names nobody decides under their own name.
func TestWhoNamesNobodyDecidesThemselves(t *testing.T) {
	s := openSigned(t)
	s.at("Ossian Reed")
	_, body, _ := s.ask(http.MethodPost, "/bench/decide", s.cookie("Ossian Reed", batch.AtBench), url.Values{"disposition": {"scrap"}, "reason": {"cracked"}})
	if strings.Contains(body, "password") {
		t.Errorf("asks for a password of nobody:\n%.800s", body)
	}
}

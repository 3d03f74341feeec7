package instruments

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
	"sagitta/batch/record/recordtest"
	"sagitta/station/web/webtest"
)

const mara = "Mara Quill"

// kept is an instrument without a visit in a builder's record.
func kept(t *testing.T, serial string) *webtest.Shop {
	t.Helper()
	s, _ := opened(t)
	if err := s.Rec.EnterInstrument(t.Context(), mara, batch.Instrument{Serial: serial, Kind: "electric-bolt-on"}); err != nil {
		t.Fatal(err)
	}
	return s
}

// TestNotes: a note is kept with who wrote it and in which visit, the newest stands first; what cannot be kept stays in the form, beside it why.
func TestNotes(t *testing.T) {
	s := kept(t, "OAK-31")
	const at = Path + "/OAK-31"
	webtest.Wants(t, s.Get(at, http.StatusOK), "None is kept.", `action="/instruments/OAK-31/notes#notes"`)
	webtest.Wants(t, s.Post(at+"/notes", url.Values{"text": {" \n"}, "by": {mara}}, http.StatusUnprocessableEntity), `id="note-text-error"`, "Nothing is here. Give the note.")
	webtest.Wants(t, s.Post(at+"/notes", url.Values{"text": {strings.Repeat("x", longestWords+1)}, "by": {mara}}, http.StatusUnprocessableEntity), "2001 characters; at most 2000 are allowed.", strings.Repeat("x", longestWords+1))
	webtest.Wants(t, s.Post(at+"/notes", url.Values{"text": {"the seam opens"}}, http.StatusUnprocessableEntity), `id="note-by-error"`, "the seam opens</textarea>")
	webtest.Wants(t, s.Post(at+"/notes", url.Values{"text": {"the seam opens"}, "by": {"Nobody"}}, http.StatusUnprocessableEntity), `id="note-by-error"`, "the seam opens</textarea>")
	if n := recordtest.Must(s.Rec.InstrumentNotes(t.Context(), "OAK-31"))(t); len(n) != 0 {
		t.Fatalf("kept %+v", n)
	}
	if to := s.Post(at+"/notes", url.Values{"text": {"the seam opens\n<i>bass side</i>"}, "by": {mara}}, http.StatusSeeOther); to != at+"#notes" {
		t.Errorf("leads to %s", to)
	}
	s.Post(at+"/notes", url.Values{"text": {"the case smells of smoke"}, "by": {mara}}, http.StatusSeeOther)
	page := s.Get(at, http.StatusOK)
	webtest.Wants(t, page, "the seam opens\n&lt;i&gt;bass side", "Mara Quill</p>")
	if strings.Index(page, "the case smells") > strings.Index(page, "the seam opens") {
		t.Error("the newest note does not stand first")
	}
	s.Post(at+"/notes", url.Values{"text": {"x"}, "by": {mara}}, http.StatusSeeOther)
	s.Post(Path+"/nobody/notes", url.Values{"text": {"x"}, "by": {mara}}, http.StatusNotFound)
}

// TestNoteOfAVisit: what is noted while a visit lasts belongs to it, and its life's page tells it too.
func TestNoteOfAVisit(t *testing.T) {
	s, _ := opened(t)
	s.Post(Path+"/new", url.Values{"serial": {"A-7"}, "with": {"leaves"}, "by": {mara}, "kind": {"steel-acoustic"}}, http.StatusSeeOther)
	s.Post(Path+"/A-7/notes", url.Values{"text": {"the seam opens"}, "by": {mara}}, http.StatusSeeOther)
	if n := recordtest.Must(s.Rec.InstrumentNotes(t.Context(), "A-7"))(t); len(n) != 1 || n[0].VisitID == "" || n[0].By != mara {
		t.Fatalf("%+v", n)
	}
	for _, path := range []string{Path + "/A-7", Path + "/A-7/life"} {
		webtest.Wants(t, s.Get(path, http.StatusOK), "the seam opens", "Mara Quill, visit 1</p>")
	}
}

// TestPromises: what is promised stands on the instrument's page and in the list by the day on which it is due, until it is kept or dropped, which
// takes a reason; nothing that was typed is lost.
func TestPromises(t *testing.T) {
	s := kept(t, "OAK-31")
	const at = Path + "/OAK-31"
	today := batch.DayOf(time.Now())
	promise := func(what string, due batch.Day, status int) string {
		t.Helper()
		return s.Post(at+"/promises", url.Values{"what": {what}, "due": {string(due)}, "by": {mara}}, status)
	}
	webtest.Wants(t, s.Get(at, http.StatusOK), "Nothing is to be kept.")
	webtest.Wants(t, promise("glue the seam", "3 December", http.StatusUnprocessableEntity), `id="promise-due-error"`, "glue the seam</textarea>", `value="3 December"`, "a day of the calendar")
	webtest.Wants(t, promise("glue the seam", "", http.StatusUnprocessableEntity), `id="promise-due-error"`)
	webtest.Wants(t, promise("glue the seam", today.After(-1), http.StatusUnprocessableEntity), "is past. Give today")
	webtest.Wants(t, promise("glue the seam", "2999-01-01", http.StatusUnprocessableEntity), "more than 20 years ahead")
	webtest.Wants(t, promise("", today, http.StatusUnprocessableEntity), `id="promise-what-error"`, `value="`+string(today)+`"`)
	webtest.Wants(t, promise(strings.Repeat("x", longestPromise+1), today, http.StatusUnprocessableEntity), "at most 200 are allowed")
	webtest.Wants(t, s.Post(at+"/promises", url.Values{"what": {"glue"}, "due": {string(today)}}, http.StatusUnprocessableEntity), `id="promise-by-error"`)
	promise("send the sheet", today.After(1), http.StatusSeeOther)
	promise("glue the seam", today, http.StatusSeeOther)
	webtest.Wants(t, s.Get(at, http.StatusOK), "<strong>Glue the seam, due today</strong>", "<p>Send the sheet, due tomorrow</p>", "Promised "+time.Now().Local().Format("15"))
	webtest.Wants(t, s.Get(Path, http.StatusOK), "<td>glue the seam</td>", "<strong>today</strong>")

	all := recordtest.Must(s.Rec.Promises(t.Context(), "OAK-31"))(t)
	first, second := at+"/promises/"+all[0].ID, at+"/promises/"+all[1].ID
	s.Post(Path+"/B-1/promises/"+all[0].ID, url.Values{"how": {"kept"}, "by": {mara}}, http.StatusNotFound)
	if p := recordtest.Must(s.Rec.Promises(t.Context(), "OAK-31"))(t)[0]; !p.EndedAt.IsZero() {
		t.Fatal("it was ended on another instrument's page")
	}
	webtest.Wants(t, s.Post(first, url.Values{"how": {"dropped"}, "by": {mara}}, http.StatusUnprocessableEntity), "Say why it is dropped.", `<details class="no-print" open>`)
	webtest.Wants(t, s.Post(first, url.Values{"how": {"kept"}, "words": {"with hide glue"}}, http.StatusUnprocessableEntity), "with hide glue</textarea>", "by-error")
	s.Post(first, url.Values{"how": {"forgotten"}, "by": {mara}}, http.StatusUnprocessableEntity)
	s.Post(first, url.Values{"how": {"kept"}, "words": {"with hide glue"}, "by": {mara}}, http.StatusSeeOther)
	s.Post(second, url.Values{"how": {"dropped"}, "words": {"it was sold"}, "by": {mara}}, http.StatusSeeOther)
	page := s.Get(at, http.StatusOK)
	webtest.Wants(t, page, "2 promises that ended", "Glue the seam; kept: with hide glue", "Send the sheet; dropped: it was sold", "Nothing is to be kept.")
	if strings.Contains(page, "due today") {
		t.Error("what is kept is still due")
	}
	if list := s.Get(Path, http.StatusOK); strings.Contains(list, "glue the seam") || strings.Contains(list, "send the sheet") {
		t.Error("the list still has what ended")
	}
	// Somebody else who comes later is told, and what was typed stands there.
	webtest.Wants(t, s.Post(first, url.Values{"how": {"kept"}, "words": {"once more"}, "by": {mara}}, http.StatusConflict), "Mara Quill said at", "once more</textarea>")
	s.Post(at+"/promises/none", url.Values{"how": {"kept"}, "by": {mara}}, http.StatusNotFound)
}

package web

import (
	"context"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/gin-gonic/gin"

	"sagitta/batch"
	"sagitta/station/bench"
	"sagitta/station/signon"
	"sagitta/station/web/webtest"
)

const password = "four herons mend a violet roof"

// signedShop is a shop where people sign on: Ines Vael administers it and may otherwise only look.
type signedShop struct {
	*shop
	service *signon.Service

	elsewhere bool // requests come from another machine
	bench     *bench.Bench
}

// at puts somebody at the bench.
func (s *signedShop) at(name string) {
	s.Helper()
	if err := s.bench.SetInspector(s.Context(), name); err != nil {
		s.Fatal(err)
	}
}

func (s *signedShop) hand() string { return s.bench.Snapshot().Inspector }

// idleDemo is a simulated inspector who does nothing.
type idleDemo struct{}

func (idleDemo) Press(context.Context) error        { return nil }
func (idleDemo) MeasureNeck(context.Context) error  { return nil }
func (idleDemo) Unattended(context.Context) error   { return nil }
func (idleDemo) Stop(context.Context) error         { return nil }
func (idleDemo) Pull(context.Context, string) error { return nil }
func (idleDemo) Plug(context.Context, string) error { return nil }

// staff are who the tests sign on as, by role; the administrator is a viewer otherwise.
var staff = map[string]batch.Role{"Ada Wren": batch.Viewer, "Nell Auden": batch.Auditor, "Ossian Reed": batch.Inspector, "Joss Thorne": batch.Repairer, "Mira Sund": batch.QualityManager, "Ines Vael": batch.Viewer}

func openSigned(t testing.TB) *signedShop {
	s := &signedShop{shop: openShop(t).fill()}
	s.service = signon.New(signon.Options{Record: s.Rec, Sessions: s.Rec.Sessions(), Shop: "Quillmere", Cost: &signon.Cost{Memory: 64, Iterations: 1, Parallelism: 1, SaltLength: 16, KeyLength: 32}})
	ctx := t.Context()
	must := webtest.Must[batch.Person](t)
	code, _, err := s.service.IssueCode(ctx, batch.AtTheMachine, "")
	if err != nil {
		t.Fatal(err)
	}
	must(s.service.UseCode(ctx, code, "Ines Vael", password, ""))
	for name, role := range staff {
		sealed := batch.WithSeals(ctx, batch.Seal{By: "Ines Vael"})
		if name == "Ines Vael" {
			continue
		}
		must(s.Rec.AddPerson(sealed, "Ines Vael", name, role))
		if code, _, err = s.service.IssueCode(sealed, "Ines Vael", name); err != nil {
			t.Fatal(err)
		}
		must(s.service.UseCode(ctx, code, "", password, "731946"))
	}
	if err := s.Rec.SetRole(batch.WithSeals(ctx, batch.Seal{By: "Ines Vael"}), "Ines Vael", "Ines Vael", batch.Viewer, true); err != nil {
		t.Fatal(err)
	}
	if s.bench, err = bench.New(ctx, bench.Options{Record: s.Rec}); err != nil {
		t.Fatal(err)
	}
	if s.Handler, err = New(s.options()); err != nil {
		t.Fatal(err)
	}
	return s
}

func (s *signedShop) options() Options {
	return Options{Bench: s.bench, Record: s.Rec, SignOn: s.service, Demo: idleDemo{}}
}

// cookie signs somebody on.
func (s *signedShop) cookie(name string, strength batch.Strength) *http.Cookie {
	s.Helper()
	all := webtest.Must[[]batch.Person](s)(s.Rec.People(s.Context()))
	i := slices.IndexFunc(all, func(p batch.Person) bool { return p.Name == name })
	w, r := &kept{header: http.Header{}}, webtest.Request(http.MethodGet, "/", nil)
	r, _, err := s.service.Load(w, r)
	if err == nil {
		err = s.service.Begin(w, r, all[i], strength)
	}
	if err != nil {
		s.Fatal(err)
	}
	c, err := http.ParseSetCookie(w.header.Get("Set-Cookie"))
	if err != nil {
		s.Fatal(err)
	}
	return c
}

// kept is an answer of which only the head is looked at.
type kept struct{ header http.Header }

func (k *kept) Header() http.Header         { return k.header }
func (k *kept) Write(b []byte) (int, error) { return len(b), nil }
func (k *kept) WriteHeader(int)             {}

// ask sends a request as whoever a cookie is of.
func (s *signedShop) ask(method, path string, cookie *http.Cookie, form url.Values) (status int, body, location string) {
	req := webtest.Request(method, path, strings.NewReader(form.Encode()))
	if s.elsewhere {
		req.RemoteAddr = "192.0.2.7:40000"
	}
	if method == http.MethodPost {
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	ctx, cancel := context.WithCancel(req.Context())
	defer cancel()
	req = req.WithContext(ctx)
	if cookie != nil {
		req.AddCookie(cookie)
	}
	w := &firstWrite{httptest.NewRecorder(), func() {}}
	if path == "/events" { // its stream would not end by itself
		w.wrote = cancel
	}
	s.Handler.ServeHTTP(w, req)
	return w.Code, w.Body.String(), w.Header().Get("Location")
}

// firstWrite tells of what is written.
type firstWrite struct {
	*httptest.ResponseRecorder
	wrote func()
}

func (w *firstWrite) Write(b []byte) (int, error) {
	w.wrote()
	return w.ResponseRecorder.Write(b)
}

var parameter = regexp.MustCompile(`:\w+`)

// atTheGate matches what the gate says when it refuses.
var atTheGate = regexp.MustCompile(`Nobody is signed on in this window|who may not .* This takes|you sign on with your password|Nobody is given the right`)

// Every route, asked for by everybody, signed on in either strength or not at all, by every method: the gate lets through what the table says and nothing else.
func TestEveryRouteByEveryRoleByEveryMethod(t *testing.T) {
	s := openSigned(t)
	s.elsewhere = true
	k, err := compose(s.options())
	if err != nil {
		t.Fatal(err)
	}
	type actor struct {
		name     string
		strength batch.Strength
		cookie   *http.Cookie
		person   batch.Person
	}
	actors := []actor{{name: "nobody"}}
	for _, p := range webtest.Must[[]batch.Person](t)(s.Rec.People(t.Context())) {
		if _, signs := staff[p.Name]; signs {
			for _, strength := range []batch.Strength{batch.ByPassword, batch.AtBench} {
				actors = append(actors, actor{p.Name, strength, s.cookie(p.Name, strength), p})
			}
		}
	}
	if len(actors) != 13 {
		t.Fatalf("%d actors", len(actors))
	}
	admitted := map[batch.Right]int{}
	routes := k.Routes()
	for _, route := range routes {
		right, listed := rights[route.Method+" "+route.Path]
		if !listed {
			t.Errorf("%s %s has no line in the table of rights", route.Method, route.Path)
			continue
		}
		path := parameter.ReplaceAllString(route.Path, "x")
		for i := range actors {
			a := actors[i]
			if a.person.May(batch.Measure) {
				s.at(a.name)
			}
			may := right == "" || a.person.May(right) && (a.strength == batch.ByPassword || batch.MayAtBench(right))
			status, body, to := s.ask(route.Method, path, a.cookie, nil)
			refused := status >= 400 && atTheGate.MatchString(body) || status == http.StatusSeeOther && strings.HasPrefix(to, "/sign-on?to=")
			if refused == may {
				t.Errorf("%s %s as %s (%s): status %d, may %v\n%.300s", route.Method, path, a.name, a.strength, status, may, body)
			}
			if refused && status != http.StatusUnauthorized && status != http.StatusForbidden && status != http.StatusSeeOther {
				t.Errorf("%s %s as %s: refused with status %d", route.Method, path, a.name, status)
			}
			if !refused {
				admitted[right]++
			}
			for i := range actors { // what ends sessions did
				if a.cookie != nil && actors[i].name == a.name && slices.Contains([]string{"/sign-off", "/sign-on/own/sessions"}, path) {
					actors[i].cookie = s.cookie(a.name, actors[i].strength)
				}
			}
			if route.Method == http.MethodGet && path != "/events" && refused != gateRefuses(s, http.MethodHead, path, a.cookie) {
				t.Errorf("HEAD %s as %s is not as GET", path, a.name)
			}
		}
		for _, method := range []string{http.MethodPut, http.MethodPatch, http.MethodDelete, http.MethodOptions, http.MethodConnect, http.MethodTrace} {
			for _, a := range actors {
				if status, _, _ := s.ask(method, path, a.cookie, nil); status != http.StatusMethodNotAllowed {
					t.Errorf("%s %s as %s: status %d", method, path, a.name, status)
				}
			}
		}
	}
	for route := range rights {
		if !slices.ContainsFunc(routes, func(r gin.RouteInfo) bool { return r.Method+" "+r.Path == route }) {
			t.Errorf("the table of rights has %s, which is no route", route)
		}
	}
	t.Logf("%d routes, %d actors; let through, by right: %v", len(routes), len(actors), admitted)
}

func gateRefuses(s *signedShop, method, path string, cookie *http.Cookie) bool {
	status, _, to := s.ask(method, path, cookie, nil)
	return status == http.StatusUnauthorized || status == http.StatusForbidden || status == http.StatusSeeOther && strings.HasPrefix(to, "/sign-on?to=")
}

// Who sends a form is who is signed on, whatever the form says: an inspector who names the manager everywhere acts as nobody but himself.
func TestNobodyActsUnderAnothersName(t *testing.T) {
	s := openSigned(t)
	inspector := s.cookie("Ossian Reed", batch.ByPassword)
	s.at("Ossian Reed")
	before := len(webtest.Must[[]batch.Event](t)(s.Rec.Audit(t.Context(), 0)))
	for route, right := range rights {
		method, path, _ := strings.Cut(route, " ")
		if method != http.MethodPost || right == "" || path == "/bench/inspector" {
			continue
		}
		path = strings.NewReplacer(":number", s.Batch.Number, ":serial", "QM-2611-0001", ":id", s.Gauge.ID).Replace(path)
		s.ask(method, parameter.ReplaceAllString(path, "x"), inspector, url.Values{"by": {"Mira Sund"}, "name": {"Mira Sund"}, "person": {"Mira Sund"}, "reason": {"because"}, "text": {"left for the next shift"}, "note": {"n"}, "disposition": {"scrap"}})
	}
	for _, e := range webtest.Must[[]batch.Event](t)(s.Rec.Audit(t.Context(), 0)) {
		if e.Seq > int64(before) && e.By == "Mira Sund" {
			t.Errorf("the trail says that Mira Sund did it: %+v", e)
		}
	}
	if notes := webtest.Must[[]batch.ShiftNote](t)(s.Rec.Notes(t.Context(), 5)); len(notes) != 1 || notes[0].By != "Ossian Reed" {
		t.Errorf("notes for the next shift: %+v", notes)
	}
}

// A signed act takes the password of who is signed on, at that moment; a wrong one says so and loses nothing typed; the same form sent again does nothing twice.
func TestActsAreSignedByPassword(t *testing.T) {
	s := openSigned(t)
	manager := s.cookie("Mira Sund", batch.ByPassword)
	path := "/batches/" + s.Batch.Number
	_, page, _ := s.ask(http.MethodGet, path, manager, nil)
	for _, words := range []string{"signs to close a batch; own password", `type="password"`, "<strong>Mira Sund</strong>"} {
		if !strings.Contains(page, words) {
			t.Errorf("the form to close a batch does not say %q", words)
		}
	}
	for _, c := range []struct {
		form   url.Values
		status int
		words  string
	}{
		{url.Values{}, http.StatusUnauthorized, "Mira Sund gives their own password"},
		{url.Values{"password": {"four herons mend a violet barn"}}, http.StatusUnauthorized, "do not belong together"},
		{url.Values{"password": {password}}, http.StatusSeeOther, ""},
		{url.Values{"password": {password}}, http.StatusConflict, "closed"},
	} {
		status, body, _ := s.ask(http.MethodPost, path+"/close", manager, c.form)
		if status != c.status || !strings.Contains(body, c.words) {
			t.Errorf("%v: status %d, want %d and %q\n%.1500s", c.form, status, c.status, c.words, body)
		}
		if strings.Contains(body, password) || strings.Contains(body, "violet barn") {
			t.Error("the answer repeats the password")
		}
	}
	signed := webtest.Must[[]batch.Signature](t)(s.Rec.Signatures(t.Context(), s.Batch.Number))
	if len(signed) != 1 || signed[0].By != "Mira Sund" || signed[0].Meaning != batch.CloseBatch {
		t.Errorf("signatures: %+v", signed)
	}
	for _, at := range []string{path, path + "/workbook.xlsx"} {
		if status, body, _ := s.ask(http.MethodGet, at, manager, nil); status != http.StatusOK || at == path && !strings.Contains(body, "Signed by Mira Sund on ") {
			t.Errorf("%s does not tell of the signature", at)
		}
	}
	_, page, _ = s.ask(http.MethodGet, "/batches", s.cookie("Ossian Reed", batch.ByPassword), nil)
	if !strings.Contains(page, "To open batches and register serial numbers takes a quality manager") {
		t.Error("an inspector is not told who opens batches")
	}
}

// Nobody but who is at the bench acts on it; a badge, or a name and PIN, takes it, and the browser with it, and so do those who are signed on.
func TestTheBenchIsOfOneHand(t *testing.T) {
	s := openSigned(t)
	if err := s.Rec.SetBadge(batch.WithSeals(t.Context(), batch.Seal{By: "Ines Vael"}), "Ines Vael", "Joss Thorne", "JT-0417"); err != nil {
		t.Fatal(err)
	}
	s.at("Ossian Reed")
	manager := s.cookie("Mira Sund", batch.ByPassword)
	if status, body, _ := s.ask(http.MethodPost, "/bench/moved", manager, nil); status != http.StatusConflict || !strings.Contains(body, "Ossian Reed is at the bench") {
		t.Errorf("somebody else moves the neck: status %d\n%.500s", status, body)
	}
	for _, c := range []struct {
		form   url.Values
		status int
		hand   string
	}{
		{url.Values{"name": {"Joss Thorne"}}, http.StatusUnauthorized, "Ossian Reed"},
		{url.Values{"name": {"Joss Thorne"}, "pin": {"111111"}}, http.StatusUnauthorized, "Ossian Reed"},
		{url.Values{"name": {"Ada Wren"}, "pin": {"731946"}}, http.StatusForbidden, "Ossian Reed"},
		{url.Values{"name": {"Joss Thorne"}, "pin": {"731946"}}, http.StatusSeeOther, "Joss Thorne"},
		{url.Values{"badge": {"jt-0417"}}, http.StatusSeeOther, "Joss Thorne"},
		{url.Values{"badge": {"JT-9999"}}, http.StatusUnauthorized, "Ossian Reed"},
	} {
		s.at("Ossian Reed")
		status, body, _ := s.ask(http.MethodPost, "/bench/inspector", nil, c.form)
		if status != c.status || s.hand() != c.hand {
			t.Errorf("%v: status %d, want %d; at the bench is %s, want %s\n%.500s", c.form, status, c.status, s.hand(), c.hand, body)
		}
	}
	if _, _, _ = s.ask(http.MethodPost, "/bench/inspector", manager, nil); s.hand() != "Mira Sund" {
		t.Errorf("who is signed on takes the bench: %s is at it", s.hand())
	}
	status, body, _ := s.ask(http.MethodPost, "/bench/decide", s.cookie("Ossian Reed", batch.AtBench), url.Values{"by": {"Mira Sund"}, "disposition": {"concession"}, "reason": {"r"}})
	if status == http.StatusSeeOther || strings.Contains(body, "recorded") {
		t.Errorf("a concession without a password: %d", status)
	}
}

// Who stands before the station's own machine sees the bench, and nothing else, before anybody has signed on; from another machine nobody does.
func TestTheBenchIsSeenWhereItStands(t *testing.T) {
	s := openSigned(t)
	for path, seen := range map[string]bool{"/": true, "/events": true, "/batches": false, "/necks": false, "/people": false} {
		for _, s.elsewhere = range []bool{false, true} {
			status, _, to := s.ask(http.MethodGet, path, nil, nil)
			if led := status == http.StatusSeeOther && strings.HasPrefix(to, "/sign-on?to="); led == (seen && !s.elsewhere) && path != "/events" || path == "/events" && (status == http.StatusOK) != !s.elsewhere {
				t.Errorf("%s, from elsewhere %v: status %d to %s", path, s.elsewhere, status, to)
			}
		}
	}
	for _, path := range []string{"/bench/take", "/bench/moved", "/bench/undo"} {
		if status, _, _ := s.ask(http.MethodPost, path, nil, nil); status != http.StatusUnauthorized {
			t.Errorf("POST %s as nobody: status %d", path, status)
		}
	}
}

// What a session must not be taken by.
func TestSessionsAreNotTakenOver(t *testing.T) {
	s := openSigned(t)
	inspector := s.cookie("Ossian Reed", batch.ByPassword)
	form := url.Values{"text": {"x"}}
	foreign := webtest.Request(http.MethodPost, "/handover", strings.NewReader(form.Encode()))
	foreign.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	foreign.Header.Set("Sec-Fetch-Site", "cross-site")
	foreign.AddCookie(inspector)
	if w := s.Do(foreign); w.Code != http.StatusForbidden {
		t.Errorf("a form from another site: status %d", w.Code)
	}
	host := webtest.Request(http.MethodGet, "/", nil)
	host.Host = "elsewhere.example"
	host.AddCookie(inspector)
	if w := s.Do(host); w.Code < 400 {
		t.Errorf("under a foreign name: status %d", w.Code)
	}
	for _, to := range []string{"https://elsewhere.example/", "//elsewhere.example", `/\elsewhere.example`} {
		if _, _, location := s.ask(http.MethodGet, "/batches?x="+url.QueryEscape(to), nil, nil); !strings.HasPrefix(location, "/sign-on?to=%2Fbatches") {
			t.Errorf("leads to %s", location)
		}
	}
	if notes := webtest.Must[[]batch.ShiftNote](t)(s.Rec.Notes(t.Context(), 5)); len(notes) > 0 {
		t.Errorf("noted: %v", notes)
	}
	if status, body, _ := s.ask(http.MethodGet, "/health", nil, nil); status != http.StatusOK {
		t.Errorf("health: %d %s", status, body)
	}
}

package command

import (
	"net/url"
	"regexp"
)

// signOnForms sends the forms of signing on to a station of its own, whose people sign on.
func (d *fullDisk) signOnForms() {
	d.t.Helper()
	at, printed := startOnDisk(d.t, d.t.TempDir(), "--sign-on")
	at.covered = d.covered
	secretsOf := func(name string) (pin, password string) {
		m := regexp.MustCompile(name + ` .* PIN (\d{6})  password (\S+)\n`).FindStringSubmatch(printed)
		if m == nil {
			d.t.Fatalf("nothing is printed of %s: %s", name, printed)
		}
		return m[1], m[2]
	}
	pin, password := secretsOf(theManager)
	const next, nextPIN = "seven slow trains cross a quiet marsh", "731946"
	signed := func(path string, form url.Values) {
		form.Set("password", password)
		at.both(sent{route: "POST " + path, path: path, form: form})
	}
	at.both(sent{route: "POST /sign-on/bench", path: "/sign-on/bench", form: url.Values{"name": {theManager}, "pin": {pin}}})
	signed("/sign-on", url.Values{"name": {theManager}})
	at.both(sent{route: "POST /sign-on/own/pin", path: "/sign-on/own/pin", form: url.Values{"old": {password}, "pin": {nextPIN}}})
	at.both(sent{route: "POST /sign-on/own/password", path: "/sign-on/own/password", form: url.Values{"old": {password}, "new": {next}, "again": {next}}})
	password = next
	this := at.browser
	at.browser.Jar = nil // another browser
	at.done(sent{route: "POST /sign-on", path: "/sign-on", form: url.Values{"name": {theManager}, "password": {password}}})
	at.browser = this
	at.both(sent{route: "POST /sign-on/own/sessions", path: "/sign-on/own/sessions"})
	signed("/people/role", url.Values{"person": {"Ossian Reed"}, "role": {"repairer"}})
	signed("/people/retire", url.Values{"person": {"Tobias Fennimore"}, "reason": {"went to another shop"}})
	code := at.issues(url.Values{"person": {"Ossian Reed"}, "password": {password}})
	signed("/people/sign-on", url.Values{"reason": {"alone from now"}})
	at.both(sent{route: "POST /sign-on/code", path: "/sign-on/code", form: url.Values{"code": {code}, "choosing": {"yes"}, "password": {next}, "again": {next}, "pin": {nextPIN}}})
	at.both(sent{route: "POST /sign-off", path: "/sign-off"})
}

// issues has a one-time code issued, first on a full disk.
func (d *fullDisk) issues(form url.Values) string {
	d.t.Helper()
	s := sent{route: "POST /people/code", path: "/people/code", form: form}
	d.covered[s.route] = true
	d.refused(s)
	_, _, page := d.post(s)
	m := regexp.MustCompile(`class="one-time-code">([^<]+)<`).FindStringSubmatch(page)
	if m == nil {
		d.t.Fatalf("no code stands on the page: %s", sentences(page))
	}
	return m[1]
}

package tell

import (
	"fmt"
	"time"

	"sagitta/batch"
)

// SignOnMode says whether people sign on.
func SignOnMode(on bool) string {
	if on {
		return "People sign on: whoever acts has proved who they are."
	}
	return "No sign-on, this machine only: whoever is named acts."
}

// RoleOf is what somebody is entered as: "inspector", "quality manager, administers people", "retired".
func RoleOf(p batch.Person) string {
	switch {
	case p.Retired:
		return "retired"
	case p.Administers:
		return string(p.Role) + ", administers people"
	}
	return string(p.Role)
}

// CodeIssued says for whom a one-time code is, until when, and where it is used; no name is the first administrator.
func CodeIssued(name, code string, until time.Time) string {
	whose, choose := "for "+name, "chooses a password and a PIN"
	if name == "" {
		whose, choose = "for the first administrator", "gives their name and chooses a password and a PIN, and from then people sign on"
	}
	return fmt.Sprintf("One-time code %s: %s\nWhoever gives it on the page /sign-on/code %s. It works once, until %s.", whose, code, choose, until.Local().Format("2006-01-02 15:04"))
}

// Signed says who signed what for: "Signed by Mara Quill on 2026-11-02 15:04, to close a batch: all necks are out. SHA-256 12ab…".
func Signed(s batch.Signature, in *time.Location) string {
	second, reason := "", ""
	if s.Second {
		second = " as the second person"
	}
	if s.Reason != "" {
		reason = ": " + s.Reason
	}
	return fmt.Sprintf("Signed by %s%s on %s, to %s%s. SHA-256 %s", s.By, second, s.At.In(in).Format("2006-01-02 15:04"), s.Meaning, reason, s.Digest)
}

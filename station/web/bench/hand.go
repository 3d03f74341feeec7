package bench

import (
	"fmt"

	"sagitta/batch/tell"
)

// Nobody says that people sign on and nobody is at the bench.
func (v *benchView) Nobody() bool { return v.SignsOn && v.Inspector == "" }

// Mine says that the window may act: it is that of whoever is at the bench, or nobody signs on.
func (v *benchView) Mine() bool { return !v.SignsOn || v.Inspector != "" && v.Inspector == v.Me }

// Stays says what lies on the bench while nobody is there, "" for nothing.
func (v *benchView) Stays() string {
	switch {
	case v.Check != nil:
		return "The check of the " + v.Check.Name + " stays where it is."
	case v.Study != nil:
		return "The study of the " + v.Study.Gauge + " stays where it is."
	case v.Serial == "":
		return ""
	case v.Of > 0 && v.Verdict == nil:
		return fmt.Sprintf("%s stays as it is, with %s.", v.Serial, tell.Count(v.Taken, "reading"))
	}
	return v.Serial + " stays as it is."
}

// Standing says who is at the bench and whose the window is, in the line that always stands; "" where the prompt says it.
func (v *benchView) Standing() string {
	switch {
	case !v.SignsOn:
		return "No sign-on, this machine only."
	case v.Inspector == "":
		return ""
	case v.Inspector == v.Me:
		return v.Inspector + " is at the bench."
	case v.Me == "":
		return v.Inspector + " is at the bench; nobody is signed on in this window."
	}
	return fmt.Sprintf("%s is at the bench; this window is %s's.", v.Inspector, v.Me)
}

// handKeys are the keys of a window that may not act: the first asks who is there.
func handKeys(keys []key) []key {
	for i := range keys {
		keys[i].Off, keys[i].Main = true, false
	}
	keys[0] = key{Label: "Name and PIN", Press: "Space", Code: "Space", Action: "show-hand", Main: true}
	return keys
}

package help

import (
	_ "embed"
	"net/http"

	"sagitta/batch/tell"
	"sagitta/devices"
	"sagitta/station/web/site"
)

// rule gives a group and who is logged in the right to the adapters' ports.
//
//go:embed 70-sagitta-ports.rules
var rule string

// ruleFile is the rule's name: before 73, where the system hands devices to who is logged in.
const ruleFile = "70-sagitta-ports.rules"

// portsPage is what to do where a port does not open.
type portsPage struct {
	Rule, File string
	Kinds      []portKind
}

// portKind is one way in which a port fails.
type portKind struct{ Name, Means, ToDo string }

// ports says what to do where a port does not open, in the words in which the bench and the commands say it.
func ports(c *site.Request) error {
	p := portsPage{Rule: rule, File: ruleFile}
	for _, k := range []devices.Kind{devices.Missing, devices.Unplugged, devices.Busy, devices.Alike, devices.NotAPort, devices.Unsupported, devices.Silent, devices.Garbled, devices.Stuck, devices.TooMany} {
		p.Kinds = append(p.Kinds, portKind{k.String(), tell.Upper(k.Sentence()), tell.Upper(k.ToDo())})
	}
	return c.Show(http.StatusOK, "ports", "A port that does not open", p)
}

// ruleAlone is the rule as a file.
func ruleAlone(c *site.Request) error {
	c.Attachment(ruleFile)
	c.Data(http.StatusOK, "text/plain; charset=utf-8", []byte(rule))
	return nil
}

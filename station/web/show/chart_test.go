package show

import (
	"strings"
	"testing"
)

// A description may hold anything that people typed; it must not end the script element that carries it.
func TestChartJSONStaysInItsElement(t *testing.T) {
	c := Chart{Series: []Series{{Name: "</script><b>", Points: []Point{{Words: "<!--", Y: Y(1)}}}}}
	text, err := c.JSON()
	if err != nil {
		t.Fatal(err)
	}
	if strings.ContainsAny(string(text), "<>") {
		t.Errorf("%s", text)
	}
}

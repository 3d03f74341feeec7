package web

import (
	"strings"
	"testing"
)

// A description may hold anything that people typed; it must not end the script element that carries it.
func TestChartJSONStaysInItsElement(t *testing.T) {
	c := chart{Series: []chartSeries{{Name: "</script><b>", Points: []chartPoint{{Words: "<!--", Y: numbersY(1)}}}}}
	text, err := c.JSON()
	if err != nil {
		t.Fatal(err)
	}
	if strings.ContainsAny(string(text), "<>") {
		t.Errorf("%s", text)
	}
}

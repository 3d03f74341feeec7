package show

import "testing"

func TestFormulaSetsIndicesLowAndEscapesTheRest(t *testing.T) {
	const plain, want = "z_a + (z_b - z_a) < x_k", "z<sub>a</sub> + (z<sub>b</sub> − z<sub>a</sub>) &lt; x<sub>k</sub>"
	if got := string(Formula(plain)); got != want {
		t.Errorf("Formula(%q) = %q, want %q", plain, got, want)
	}
}

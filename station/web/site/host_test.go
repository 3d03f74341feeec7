package site

import (
	"os"
	"testing"
)

// TestOwnHost refuses a name that is not this machine's, so that another site's pages cannot act as ours.
func TestOwnHost(t *testing.T) {
	machine, err := os.Hostname()
	if err != nil {
		t.Fatal(err)
	}
	for host, ours := range map[string]bool{
		"127.0.0.1:8470": true, "[::1]:8470": true, "localhost": true, "LOCALHOST:80": true, "192.168.7.9:8470": true, machine: true, machine + ".local:8470": true,
		"Station.quillmere.example:443": true, "quillmere.example": false,
		"rebound.example:8470": false, "127.0.0.1.rebound.example": false, "localhost.rebound.example": false, "": false,
	} {
		if got := isOwnHost(host, []string{"station.quillmere.example"}); got != ours {
			t.Errorf("%q: ours is %v, want %v", host, got, ours)
		}
	}
}

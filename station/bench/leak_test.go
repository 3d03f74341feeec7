package bench

import (
	"testing"

	"go.uber.org/goleak"
)

// TestMain fails the package when a goroutine outlives its tests.
func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

package app

import (
	"context"
	"time"

	"sagitta/devices"
	"sagitta/devices/decode"
)

// freeLines listens to ports that no gauge's line has open, for the pages.
type freeLines struct{}

// identifyFor is how long the pages listen with each setting of the line: time for two or three presses of a data key.
const identifyFor = 3 * time.Second

// Identify tries the built-in decoders on what a port sends.
func (freeLines) Identify(ctx context.Context, port string, ask bool, trying func(devices.Trial)) (devices.Found, error) {
	return devices.Identify(ctx, port, devices.Identifying{Decoders: decode.Builtin(), Listen: identifyFor, Ask: ask, Trying: trying})
}

// WhichSends returns the first of several ports that sends anything.
func (freeLines) WhichSends(ctx context.Context, ports []string, line decode.Line, listen time.Duration) (string, error) {
	return devices.WhichSends(ctx, nil, ports, line, listen)
}

// Package demo holds the demonstration's files: the specifications of two invented models, and the truth about the
// simulated necks of two batches.
package demo

import "embed"

// Files are the specifications (*.toml) and the scenarios (*.truth.toml).
//
//go:embed *.toml
var Files embed.FS

package decode

import "time"

// Chunk is a run of bytes that came together.
type Chunk struct {
	At    time.Duration // from the capture's start
	Bytes []byte
}

// Capture is what a gauge sent, with its timing: replayable evidence.
type Capture struct {
	Header [][2]string // "# key: value" lines, in order
	Chunks []Chunk     // offsets do not fall
}

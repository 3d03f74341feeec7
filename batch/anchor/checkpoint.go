// Package anchor has the signed checkpoints of a record's evidence: what it was at a moment, in a few lines that may leave the building.
//
// A checkpoint is a signed note (golang.org/x/mod/sumdb/note) in the open format of checkpoints of a transparency log (C2SP tlog-checkpoint),
// signed with Ed25519 (RFC 8032):
//
//	station/bench-1                            whose record it is: the name of its key
//	455                                        how many entries its evidence had
//	qXy...=                                    the root of their tree (RFC 6962), in base64
//	at 2026-12-01T04:23:00Z                    when it was signed
//	key station/bench-1+6f1c2d3e+AY...=        the public key, which the note's verifiers take
//
//	— station/bench-1 bxwtPk...=               the signature of all lines above
package anchor

import (
	"encoding/base64"
	"fmt"
	"strconv"
	"strings"
	"time"

	"golang.org/x/mod/sumdb/note"
	"golang.org/x/mod/sumdb/tlog"

	"sagitta/batch"
)

// Checkpoint is what a record's evidence was at a moment.
type Checkpoint struct {
	Origin string    // whose record it is: the name of its key
	Size   int64     // entries
	Root   tlog.Hash // of their tree
	At     time.Time // when it was signed, to the second
	Key    string    // public
	Note   string    // all of it, as it was signed
}

// Sign makes the checkpoint of a tree.
func (k *Key) Sign(size int64, root tlog.Hash, at time.Time) (Checkpoint, error) {
	c := Checkpoint{Origin: k.signer.Name(), Size: size, Root: root, At: at.UTC().Truncate(time.Second), Key: k.Public}
	text, err := note.Sign(&note.Note{Text: fmt.Sprintf("%s\n%d\n%v\nat %s\nkey %s\n", c.Origin, c.Size, c.Root, c.At.Format(time.RFC3339), c.Key)}, k.signer)
	c.Note = string(text)
	return c, err
}

// Parse reads a checkpoint. Its form is checked, its signature is not: see Verify. batch.Mendable where it is none.
func Parse(text string) (c Checkpoint, err error) {
	c.Note = text
	head, _, signed := strings.Cut(text, "\n\n")
	lines := strings.Split(head, "\n")
	if !signed || len(lines) < 3 || lines[0] == "" {
		return c, notOne(text, "three lines or more, an empty one and a signature")
	}
	c.Origin = lines[0]
	if c.Size, err = strconv.ParseInt(lines[1], 10, 64); err != nil || c.Size < 1 || strconv.FormatInt(c.Size, 10) != lines[1] {
		return c, notOne(lines[1], "how many entries there were, in its second line")
	}
	root, err := base64.StdEncoding.DecodeString(lines[2])
	if err != nil || len(root) != tlog.HashSize {
		return c, notOne(lines[2], "the root, 32 bytes in base64, in its third line")
	}
	copy(c.Root[:], root)
	for _, line := range lines[3:] { // any other line is somebody else's addition
		if at, is := strings.CutPrefix(line, "at "); is {
			if c.At, err = time.Parse(time.RFC3339, at); err != nil {
				return c, notOne(line, "a time such as at 2026-12-01T04:23:00Z")
			}
		} else if key, is := strings.CutPrefix(line, "key "); is {
			c.Key = key
		}
	}
	return c, nil
}

func notOne(found, allowed string) error {
	if most := 80; len(found) > most {
		found = strings.ToValidUTF8(found[:most], "") + "..."
	}
	return batch.Mendable.Errorf("this is no checkpoint: found %q; a checkpoint has %s", found, allowed)
}

// Verify says whether the checkpoint was signed with a key, given by its public part. batch.Mendable where it was not.
func (c *Checkpoint) Verify(public string) error {
	v, err := note.NewVerifier(public)
	if err != nil {
		return batch.Mendable.Errorf("found the public key %q; allowed is NAME+HASH+KEY as sagitta verify prints it (%v)", public, err)
	}
	if _, err := note.Open([]byte(c.Note), note.VerifierList(v)); err != nil {
		return batch.Mendable.Errorf("the checkpoint of %d entries is not signed with the key %s: %v", c.Size, public, err)
	}
	return nil
}

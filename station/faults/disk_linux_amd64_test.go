package faults

import (
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"
)

const sector = 512 // bytes that a disk writes whole or not at all

// kept says what of the writes that were not synced a power cut leaves.
type kept int

const (
	keptNone    kept = iota
	keptAll          // all of them, and the last one in part
	keptSome         // any of them, in any order
	keptSectors      // any sectors of any of them
	keptKinds        // their number
)

// afterCut is what a disk may hold when the power is cut before the operation of a number. What was synced is there. Of what was
// not, rng and keep choose. Names (making, renaming, removing a file) last once their folder was synced, and before that in the
// order in which they were done, up to some point: as a file system that keeps a journal does it.
func afterCut(before folder, ops []op, cut int, keep kept, rng *rand.Rand) folder {
	ops = ops[:cut]
	files, names := map[int][]byte{}, map[string]int{}
	for i, name := range sortedNames(before) {
		files[i], names[name] = slices.Clone(before[name]), i
	}
	synced, folders := map[int]int{}, map[string]int{}
	for _, o := range ops {
		switch o.kind {
		case opSync:
			synced[o.file] = int(o.at)
		case opFolderSync:
			folders[o.name] = int(o.at)
		}
	}
	safeNames := named(ops, folders)
	var pending []int // names that may be lost
	for i, o := range ops {
		if names := o.kind == opCreate || o.kind == opRename || o.kind == opRemove; names && !safeNames[i] {
			pending = append(pending, i)
		}
	}
	lost := len(ops) // from here on
	if n := len(pending); n > 0 && keep != keptAll {
		if k := rng.IntN(n + 1); k < n {
			lost = pending[k]
		}
	}
	last := -1 // write of all
	for i, o := range ops {
		if o.kind == opWrite && synced[o.file] <= i {
			last = i
		}
	}
	for i, o := range ops {
		safe := synced[o.file] > i
		switch o.kind {
		case opCreate, opRename, opRemove:
			if i < lost || safeNames[i] {
				rename(names, o)
			}
		case opSize:
			if safe || keep == keptAll || keep != keptNone && rng.IntN(2) == 0 {
				files[o.file] = resized(files[o.file], int(o.at))
			}
		case opWrite:
			if safe || keep == keptAll && i != last || keep == keptSome && rng.IntN(2) == 0 {
				files[o.file] = written(files[o.file], o.data, int(o.at))
				continue
			}
			if keep == keptNone || keep == keptSome {
				continue
			}
			torn := rng.IntN(len(o.data)/sector + 2)
			for n, part := range sectors(o) {
				if keep == keptAll && n < torn || keep == keptSectors && rng.IntN(2) == 0 {
					files[o.file] = written(files[o.file], o.data[part[0]:part[1]], int(o.at)+part[0])
				}
			}
		}
	}
	after := folder{}
	for name, id := range names {
		after[name] = files[id]
	}
	return after
}

// named says which operations on names last: their folder was synced afterwards, or that of a name which the file was given by one that
// lasts.
func named(ops []op, folders map[string]int) []bool {
	lasts, needed := make([]bool, len(ops)), map[string]bool{}
	for i, o := range slices.Backward(ops) {
		switch o.kind {
		case opCreate:
			lasts[i] = folders[filepath.Dir(o.name)] > i || needed[o.name]
			delete(needed, o.name)
		case opRename:
			lasts[i] = folders[filepath.Dir(o.name)] > i || folders[filepath.Dir(o.to)] > i || needed[o.to]
			delete(needed, o.to)
			needed[o.name] = lasts[i]
		case opRemove:
			lasts[i] = folders[filepath.Dir(o.name)] > i
		}
	}
	return lasts
}

func rename(names map[string]int, o op) {
	switch o.kind {
	case opCreate:
		names[o.name] = o.file
	case opRename:
		if id, has := names[o.name]; has {
			delete(names, o.name)
			names[o.to] = id
		}
	case opRemove:
		delete(names, o.name)
	}
}

// sectors are the parts of a write that are written each at once: from and to in its data.
func sectors(o op) (parts [][2]int) {
	for from := 0; from < len(o.data); {
		to := min(len(o.data), from+sector-(int(o.at)+from)%sector)
		parts = append(parts, [2]int{from, to})
		from = to
	}
	return parts
}

func resized(b []byte, n int) []byte {
	if n <= len(b) {
		return b[:n]
	}
	return append(b, make([]byte, n-len(b))...)
}

func written(b, data []byte, at int) []byte {
	b = resized(b, max(len(b), at+len(data)))
	copy(b[at:], data)
	return b
}

func sortedNames(f folder) []string { return slices.Sorted(maps.Keys(f)) }

// put writes a folder to the disk, and returns where its record is.
func (f folder) put(t testing.TB) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "faults-*")
	if err != nil {
		t.Fatal(err)
	}
	for name, content := range f {
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, content, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return filepath.Join(dir, "record.db")
}

// The disk after a cut holds what was synced, and of the rest what the way of keeping says: each way is seen to leave what it may.
func TestDiskAfterACut(t *testing.T) {
	page := func(b byte) []byte { return slices.Repeat([]byte{b}, 2*sector) }
	before := folder{"a": page('0')}
	ops := []op{
		{kind: opWrite, file: 0, data: page('1')}, {kind: opSync, file: 0, at: 1}, // safe
		{kind: opWrite, file: 0, data: page('2')},
		{kind: opCreate, file: 1, name: "b"}, {kind: opFolderSync, name: ".", at: 4}, {kind: opWrite, file: 1, data: page('3')},
		{kind: opRename, name: "b", to: "c"},
	}
	seen := map[kept]map[string]bool{}
	for keep := range keptKinds {
		seen[keep] = map[string]bool{}
		for s := range uint64(200) {
			f := afterCut(before, ops, len(ops), keep, rand.New(rand.NewPCG(s, 0)))
			_, b := f["b"]
			_, c := f["c"]
			if b == c || len(f) != 2 || len(f["a"]) != 2*sector || slices.Contains(f["a"], '0') {
				t.Fatalf("%d: %q", keep, f)
			}
			text := string([]byte{f["a"][0], f["a"][sector]})
			for _, name := range []string{"b", "c"} {
				for at := 0; at < len(f[name]); at += sector {
					text += name + string(f[name][at])
				}
			}
			seen[keep][text] = true
		}
	}
	for keep, want := range map[kept][]string{
		keptNone: {"11"}, keptAll: {"22c3c3", "22c3", "22"}, keptSome: {"11", "22b3b3", "11c3c3", "22"}, keptSectors: {"12b3b3", "21", "11c\x00c3"},
	} {
		for _, text := range want {
			if !seen[keep][text] {
				t.Errorf("%d never left %q: %v", keep, text, slices.Sorted(maps.Keys(seen[keep])))
			}
		}
	}
	// What was renamed into a folder that was synced is there, also where the folder that it was made in never was.
	moved := []op{{kind: opCreate, file: 1, name: "part/b"}, {kind: opWrite, file: 1, data: page('3')}, {kind: opSync, file: 1, at: 2},
		{kind: opRename, name: "part/b", to: "b"}, {kind: opFolderSync, name: ".", at: 4}, {kind: opCreate, file: 2, name: "part/c"}}
	for s := range uint64(40) {
		if f := afterCut(before, moved, len(moved), keptNone, rand.New(rand.NewPCG(s, 0))); len(f["b"]) != 2*sector {
			t.Errorf("what was moved is lost: %q", f)
		}
	}
	if len(seen[keptNone]) != 1 {
		t.Errorf("with nothing kept: %v", seen[keptNone])
	}
}

package faults

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"unsafe"

	"golang.org/x/sys/unix"
)

// opKind is what a process did to the files of a folder.
type opKind int

const (
	opCreate     opKind = iota // a file of name
	opWrite                    // data into file at an offset
	opSize                     // file gets the length at
	opSync                     // what was written to file before the operation at is on the disk
	opFolderSync               // so are the names in the folder name
	opRename                   // name is to from now on
	opRemove                   // name is gone
	opSaid                     // a line on its output
)

type op struct {
	kind     opKind
	file     int // by the order of their making; those there before come first
	name, to string
	at       int64
	data     []byte
}

// fault makes calls of a traced process fail that reach the folder's files.
type fault struct {
	call  string // one of the calls below; "" for none
	first int    // the first one that fails, counted from 1
	times int    // how many fail in all
	errno syscall.Errno
	short bool // instead of failing, the call does half of what is asked
}

// What can be made to fail.
const (
	callRead  = "read"
	callWrite = "write"
	callSync  = "sync"
	callName  = "name" // making, renaming, removing a file
)

// tracer follows a process by the system's own means for that (ptrace), so that everything it does to its files is seen, by whatever
// library, in the order in which it was done.
type tracer struct {
	dir    string
	pid    int
	ops    []op
	ids    map[string]int // the file that has a name now
	files  int
	open   map[int]int    // the file of a descriptor
	dirs   map[int]string // the folder of a descriptor
	doing  map[int]*call  // what a thread is in the middle of
	fault  fault
	counts map[string]int
	failed int
}

// call is a system call that has begun.
type call struct {
	nr     uint64
	args   [6]uint64
	data   []byte
	name   string // of the first path
	to     string
	is     string // one of the calls that can be made to fail
	errno  syscall.Errno
	broken bool
	before int // operations when it began
}

// callInfo is struct ptrace_syscall_info of Linux.
type callInfo struct {
	op   uint8
	_    [3]uint8
	arch uint32
	ip   uint64
	sp   uint64
	nr   uint64 // at its end: what it returned
	args [6]uint64
	_    uint64
}

// folder is the content of a folder's files, by their names in it.
type folder map[string][]byte

func folderAt(t testing.TB, dir string) folder {
	t.Helper()
	f := folder{}
	err := filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		content, err := os.ReadFile(path)
		if name, _ := filepath.Rel(dir, path); err == nil {
			f[name] = content
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// traced runs a child on the record of a folder and returns what it did there, how many of its calls failed, and how it ended.
func traced(t testing.TB, path string, rounds int, f fault, more ...string) (ops []op, failed int, status syscall.WaitStatus) {
	t.Helper()
	runtime.LockOSThread() // the thread that begins to trace goes on with it
	defer runtime.UnlockOSThread()
	dir, err := filepath.EvalSymlinks(filepath.Dir(path))
	if err != nil {
		t.Fatal(err)
	}
	tr := &tracer{dir: dir, ids: map[string]int{}, open: map[int]int{}, dirs: map[int]string{}, doing: map[int]*call{}, fault: f, counts: map[string]int{}}
	for _, name := range sortedNames(folderAt(t, dir)) {
		tr.ids[name] = tr.newFile()
	}
	null, err := os.OpenFile(os.DevNull, os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = null.Close() }()
	told, err := os.CreateTemp(t.TempDir(), "told")
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = told.Close() }()
	cmd := child(filepath.Join(dir, filepath.Base(path)), rounds, more...)
	tr.pid, err = syscall.ForkExec(cmd.Path, cmd.Args, &syscall.ProcAttr{Env: cmd.Env, Files: []uintptr{null.Fd(), null.Fd(), told.Fd()},
		Sys: &syscall.SysProcAttr{Ptrace: true}})
	if err != nil {
		t.Fatal(err)
	}
	status, err = tr.follow()
	if err != nil {
		t.Fatal(err)
	}
	if status != 0 {
		text, _ := os.ReadFile(told.Name())
		t.Logf("the child says %s", text)
	}
	return tr.ops, tr.failed, status
}

func (tr *tracer) newFile() int { tr.files++; return tr.files - 1 }

// follow lets the process run from one system call to the next until it ends.
func (tr *tracer) follow() (ended syscall.WaitStatus, err error) {
	const own = syscall.WALL | 0x20000000 // of all threads, and of no process that another thread began
	var s syscall.WaitStatus
	if _, err := syscall.Wait4(tr.pid, &s, own, nil); err != nil {
		return 0, err
	}
	const killWithUs = 0x100000
	if err := syscall.PtraceSetOptions(tr.pid, syscall.PTRACE_O_TRACECLONE|syscall.PTRACE_O_TRACESYSGOOD|killWithUs); err != nil {
		return 0, err
	}
	if err := syscall.PtraceSyscall(tr.pid, 0); err != nil {
		return 0, err
	}
	for {
		tid, err := syscall.Wait4(-1, &s, own, nil)
		if errors.Is(err, syscall.EINTR) {
			continue
		}
		if err != nil {
			return 0, err
		}
		if s.Exited() || s.Signaled() {
			if tid == tr.pid {
				return s, nil
			}
			continue
		}
		signal := 0
		switch stopped := s.StopSignal(); stopped {
		case syscall.SIGTRAP | 0x80:
			if err := tr.call(tid); err != nil {
				return 0, err
			}
		case syscall.SIGTRAP, syscall.SIGSTOP: // a thread begins
		default:
			signal = int(stopped)
		}
		if err := syscall.PtraceSyscall(tid, signal); err != nil && !errors.Is(err, syscall.ESRCH) {
			return 0, err
		}
	}
}

// call sees a system call begin or end.
func (tr *tracer) call(tid int) error {
	var info callInfo
	const getSyscallInfo, begins, ends = 0x420e, 1, 2
	if _, _, e := unix.Syscall6(unix.SYS_PTRACE, getSyscallInfo, uintptr(tid), unsafe.Sizeof(info), uintptr(unsafe.Pointer(&info)), 0, 0); e != 0 {
		if e == unix.ESRCH {
			return nil
		}
		return e
	}
	switch info.op {
	case begins:
		c := &call{nr: info.nr, args: info.args}
		tr.doing[tid] = c
		if err := tr.begin(c); err != nil {
			return err
		}
		return tr.breakOff(tid, c)
	case ends:
		c := tr.doing[tid]
		delete(tr.doing, tid)
		if c == nil {
			return nil
		}
		if c.broken && !tr.fault.short {
			return setResult(tid, -int64(c.errno))
		}
		if got := int64(info.nr); got >= 0 {
			return tr.done(c, got)
		}
	}
	return nil
}

// begin notes what must be read before the call is carried out, and what it is.
func (tr *tracer) begin(c *call) (err error) {
	fd := int(int32(c.args[0]))
	_, watched := tr.open[fd]
	switch c.nr {
	case unix.SYS_WRITE, unix.SYS_PWRITE64:
		if watched || fd == 1 {
			c.data, err = tr.memory(c.args[1], int(c.args[2]))
		}
		if watched {
			c.is = callWrite
		}
	case unix.SYS_READ, unix.SYS_PREAD64:
		if watched {
			c.is = callRead
		}
	case unix.SYS_FSYNC, unix.SYS_FDATASYNC:
		if _, folder := tr.dirs[fd]; watched || folder {
			c.is = callSync
		}
		c.before = len(tr.ops)
	case unix.SYS_CLOSE: // another thread may have its number again before this one is seen to have given it up
		delete(tr.open, fd)
		delete(tr.dirs, fd)
	case unix.SYS_FTRUNCATE:
		if watched {
			c.is = callWrite
		}
	case unix.SYS_OPEN, unix.SYS_CREAT, unix.SYS_UNLINK:
		c.name, err = tr.path(c.args[0])
	case unix.SYS_OPENAT, unix.SYS_UNLINKAT:
		c.name, err = tr.path(c.args[1])
	case unix.SYS_RENAME:
		if c.name, err = tr.path(c.args[0]); err == nil {
			c.to, err = tr.path(c.args[1])
		}
	case unix.SYS_RENAMEAT, unix.SYS_RENAMEAT2:
		if c.name, err = tr.path(c.args[1]); err == nil {
			c.to, err = tr.path(c.args[3])
		}
	case unix.SYS_PWRITEV, unix.SYS_WRITEV, unix.SYS_FALLOCATE, unix.SYS_SENDFILE, unix.SYS_SPLICE, unix.SYS_LINK, unix.SYS_LINKAT, unix.SYS_TRUNCATE:
		if watched {
			return fmt.Errorf("system call %d on one of the files is not known here", c.nr)
		}
	case unix.SYS_COPY_FILE_RANGE:
		if _, to := tr.open[int(int32(c.args[2]))]; to {
			c.is = callWrite
		}
	}
	if c.name != "" && (c.nr != unix.SYS_OPENAT && c.nr != unix.SYS_OPEN || tr.flags(c)&unix.O_CREAT != 0) {
		c.is = callName
	}
	return err
}

func (tr *tracer) flags(c *call) int {
	if c.nr == unix.SYS_OPENAT {
		return int(c.args[2])
	}
	return int(c.args[1])
}

// breakOff makes the call fail where its turn has come.
func (tr *tracer) breakOff(tid int, c *call) error {
	if c.is == "" {
		return nil
	}
	tr.counts[c.is]++
	if n := tr.counts[c.is]; c.is != tr.fault.call || n < tr.fault.first || n >= tr.fault.first+tr.fault.times {
		return nil
	}
	var regs syscall.PtraceRegs
	if err := syscall.PtraceGetRegs(tid, &regs); err != nil {
		return err
	}
	if tr.fault.short {
		if regs.Rdx < 2 {
			return nil
		}
		regs.Rdx /= 2
	} else {
		regs.Orig_rax = ^uint64(0) // no call at all
	}
	c.broken, c.errno = true, tr.fault.errno
	tr.failed++
	return syscall.PtraceSetRegs(tid, &regs)
}

func setResult(tid int, result int64) error {
	var regs syscall.PtraceRegs
	if err := syscall.PtraceGetRegs(tid, &regs); err != nil {
		return err
	}
	regs.Rax = uint64(result)
	return syscall.PtraceSetRegs(tid, &regs)
}

// done notes what a call that succeeded did.
func (tr *tracer) done(c *call, got int64) error {
	fd := int(int32(c.args[0]))
	file, watched := tr.open[fd]
	note := func(o op) { tr.ops = append(tr.ops, o) }
	switch c.nr {
	case unix.SYS_WRITE, unix.SYS_PWRITE64:
		if fd == 1 {
			note(op{kind: opSaid, data: c.data[:got]})
		}
		if watched {
			at := int64(c.args[3])
			if c.nr == unix.SYS_WRITE {
				end, err := tr.position(fd)
				if err != nil {
					return err
				}
				at = end - got
			}
			note(op{kind: opWrite, file: file, at: at, data: c.data[:got]})
		}
	case unix.SYS_COPY_FILE_RANGE:
		return tr.copied(int(int32(c.args[2])), got)
	case unix.SYS_FSYNC, unix.SYS_FDATASYNC:
		if watched {
			note(op{kind: opSync, file: file, at: int64(c.before)})
		} else if dir, folder := tr.dirs[fd]; folder {
			note(op{kind: opFolderSync, name: dir, at: int64(c.before)})
		}
	case unix.SYS_FTRUNCATE:
		if watched {
			note(op{kind: opSize, file: file, at: int64(c.args[1])})
		}
	case unix.SYS_OPEN, unix.SYS_OPENAT, unix.SYS_CREAT:
		return tr.opened(c, int(got))
	case unix.SYS_UNLINK, unix.SYS_UNLINKAT:
		if _, has := tr.ids[c.name]; has {
			delete(tr.ids, c.name)
			note(op{kind: opRemove, name: c.name})
		}
	case unix.SYS_RENAME, unix.SYS_RENAMEAT, unix.SYS_RENAMEAT2:
		if id, has := tr.ids[c.name]; has {
			delete(tr.ids, c.name)
			tr.ids[c.to] = id
			note(op{kind: opRename, name: c.name, to: c.to})
		}
	}
	return nil
}

// opened notes a descriptor of one of the folder's files, and a file that is new or emptied by it.
func (tr *tracer) opened(c *call, fd int) error {
	delete(tr.open, fd)
	delete(tr.dirs, fd)
	path, err := os.Readlink(fmt.Sprintf("/proc/%d/fd/%d", tr.pid, fd))
	if err != nil {
		return err
	}
	info, err := os.Stat(path)
	if err != nil {
		return nil // not of this folder, or removed at once
	}
	name, inside := tr.inside(path)
	switch {
	case !inside:
		return nil
	case info.IsDir():
		tr.dirs[fd] = name
		return nil
	}
	id, has := tr.ids[name]
	if !has {
		id = tr.newFile()
		tr.ids[name] = id
		tr.ops = append(tr.ops, op{kind: opCreate, file: id, name: name})
	} else if c.nr == unix.SYS_CREAT || tr.flags(c)&unix.O_TRUNC != 0 {
		tr.ops = append(tr.ops, op{kind: opSize, file: id})
	}
	tr.open[fd] = id
	return nil
}

// copied notes what the system copied into a file by itself.
func (tr *tracer) copied(fd int, got int64) error {
	id, watched := tr.open[fd]
	if !watched {
		return nil
	}
	end, err := tr.position(fd)
	if err != nil {
		return err
	}
	f, err := os.Open(fmt.Sprintf("/proc/%d/fd/%d", tr.pid, fd))
	if err != nil {
		return err
	}
	data := make([]byte, got)
	_, err = f.ReadAt(data, end-got)
	tr.ops = append(tr.ops, op{kind: opWrite, file: id, at: end - got, data: data})
	return errors.Join(err, f.Close())
}

// inside is a file's name in the folder. What several processes share in memory is none of its files.
func (tr *tracer) inside(path string) (string, bool) {
	name, err := filepath.Rel(tr.dir, path)
	return name, err == nil && name != ".." && !strings.HasPrefix(name, "../") && !strings.HasSuffix(name, "-shm")
}

// position is where a descriptor stands.
func (tr *tracer) position(fd int) (at int64, err error) {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/fdinfo/%d", tr.pid, fd))
	if err == nil {
		_, err = fmt.Sscanf(string(text), "pos: %d", &at)
	}
	return at, err
}

// path reads a path from the process and returns its name in the folder, "" where it lies elsewhere.
func (tr *tracer) path(at uint64) (string, error) {
	var text []byte
	for len(text) < 4096 {
		n := 256 - int(at+uint64(len(text)))%256 // never beyond a page that may be the last
		part, err := tr.memory(at+uint64(len(text)), n)
		if err != nil {
			return "", err
		}
		if end := bytes.IndexByte(part, 0); end >= 0 {
			text = append(text, part[:end]...)
			break
		}
		text = append(text, part...)
	}
	if name, inside := tr.inside(string(text)); inside && name != "." {
		return name, nil
	}
	return "", nil
}

func (tr *tracer) memory(at uint64, n int) ([]byte, error) {
	b := make([]byte, n)
	if n == 0 {
		return b, nil
	}
	local := []unix.Iovec{{Base: &b[0]}}
	local[0].SetLen(n)
	got, err := unix.ProcessVMReadv(tr.pid, local, []unix.RemoteIovec{{Base: uintptr(at), Len: n}}, 0)
	if err == nil && got != n {
		err = fmt.Errorf("read %d bytes of %d", got, n)
	}
	return b, err
}

package devices

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"log"
	"net"
	"os"
	"strings"
	"sync"
	"testing"

	"github.com/simonvetter/modbus"

	"sagitta/devices/decode"
)

// registers is the other side's memory: a server of another implementation asks it.
type registers struct {
	mu     sync.Mutex
	first  uint16 // address of the first
	values []uint16
	fail   error
	asked  []modbus.InputRegistersRequest
}

func (r *registers) HandleInputRegisters(req *modbus.InputRegistersRequest) ([]uint16, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.asked = append(r.asked, *req)
	at := int(req.Addr) - int(r.first)
	if r.fail != nil || at < 0 || at+int(req.Quantity) > len(r.values) {
		return nil, map[bool]error{true: r.fail, false: modbus.ErrIllegalDataAddress}[r.fail != nil]
	}
	return r.values[at : at+int(req.Quantity)], nil
}

func (r *registers) HandleCoils(*modbus.CoilsRequest) ([]bool, error) {
	return nil, modbus.ErrIllegalFunction
}

func (r *registers) HandleDiscreteInputs(*modbus.DiscreteInputsRequest) ([]bool, error) {
	return nil, modbus.ErrIllegalFunction
}

func (r *registers) HandleHoldingRegisters(*modbus.HoldingRegistersRequest) ([]uint16, error) {
	return nil, modbus.ErrIllegalFunction
}

func (r *registers) set(fail error, values ...uint16) {
	r.mu.Lock()
	r.values, r.fail = values, fail
	r.mu.Unlock()
}

// crcOf is the algorithm of MODBUS over Serial Line V1.02, 6.2.2, low byte first as on the line.
func crcOf(b []byte) []byte {
	crc := uint16(0xFFFF)
	for _, v := range b {
		crc ^= uint16(v)
		for range 8 {
			low := crc & 1
			crc >>= 1
			if low == 1 {
				crc ^= 0xA001
			}
		}
	}
	return binary.LittleEndian.AppendUint16(nil, crc)
}

// TestModbusAgainstAnotherServer has a server of another implementation (simonvetter/modbus) answer our requests. It
// speaks the protocol over TCP; a bridge takes address and CRC off and puts them on, so that both ends of the line are
// serial. The values are written out by hand: FFFF F862 is -1950.
func TestModbusAgainstAnotherServer(t *testing.T) {
	t.Parallel()
	memory := &registers{}
	free, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	address := free.Addr().String()
	free.Close()
	server, err := modbus.NewServer(&modbus.ServerConfiguration{URL: "tcp://" + address, Timeout: patience, Logger: log.New(io.Discard, "", 0)}, memory)
	if err != nil {
		t.Fatal(err)
	}
	if err := server.Start(); err != nil {
		t.Fatal(err)
	}
	defer server.Stop()
	conn, err := net.Dial("tcp", address)
	if err != nil {
		t.Fatal(err)
	}
	s := newSocket(t)
	memory.set(nil, 0xFFFF, 0xF862)
	bridged := make(chan error, 1)
	mute := make(chan bool, 1) // the next answer does not come
	go func(line io.ReadWriter) { bridged <- bridge(line, conn, mute) }(s.master)
	d := builtin(t, "register of a probe, micrometres")
	b := run(t, Options{}, Gauge{ID: "probe", Path: s.path, Decoder: d, Capture: CaptureStream})
	last := func() string {
		all := b.numbers("probe")
		if len(all) == 0 {
			return "nothing"
		}
		return all[len(all)-1]
	}
	eventually(t, "-1950", func() bool { return last() == "-1950" })
	memory.set(nil, 0, 1950)
	eventually(t, "1950", func() bool { return last() == "1950" })
	if v := b.read()[0].Value; v.MM != -1.95 || v.UnitNorm != "mm" {
		t.Errorf("%+v", v)
	}
	status := func() string {
		return b.read()[len(b.read())-1].Value.Status
	}
	for code, fail := range map[int]error{1: modbus.ErrIllegalFunction, 2: modbus.ErrIllegalDataAddress, 3: modbus.ErrIllegalDataValue, 4: modbus.ErrServerDeviceFailure, 6: modbus.ErrServerDeviceBusy} {
		memory.set(fail)
		eventually(t, fail.Error(), func() bool { return status() == fmt.Sprintf("refused with exception %d", code) })
	}
	mute <- true // unanswered: silent, asked again, live
	memory.set(nil, 0, 7)
	eventually(t, "silent", func() bool { return strings.Contains(fmt.Sprint(b.history("probe")), "silent") })
	eventually(t, "7", func() bool { return last() == "7" && b.state("probe") == StateLive })
	memory.mu.Lock()
	for _, req := range memory.asked {
		if req.UnitId != 1 || req.Addr != 0 || req.Quantity != 2 {
			t.Errorf("asked %+v", req)
		}
	}
	memory.mu.Unlock()
	if len(b.refused()) > 0 {
		t.Errorf("faults %+v", b.refused())
	}
	b.stop()
	s.unplug()
	if err := <-bridged; err != nil { // it may be carrying a request still
		t.Error(err)
	}
	conn.Close()
}

// bridge carries requests from a line to a server over TCP and its answers back, until the line goes away.
func bridge(line io.ReadWriter, conn net.Conn, mute <-chan bool) error {
	for n := uint16(1); ; n++ {
		ask := make([]byte, 8)
		if _, err := io.ReadFull(line, ask); err != nil {
			return nil
		}
		if !bytes.Equal(crcOf(ask[:6]), ask[6:]) {
			return fmt.Errorf("request %x has a wrong CRC", ask)
		}
		head := binary.BigEndian.AppendUint16(nil, n)
		head = append(head, 0, 0, 0, 6)
		if _, err := conn.Write(append(head, ask[:6]...)); err != nil {
			return err
		}
		answer := make([]byte, 6)
		if _, err := io.ReadFull(conn, answer); err != nil {
			return err
		}
		body := make([]byte, binary.BigEndian.Uint16(answer[4:]))
		if _, err := io.ReadFull(conn, body); err != nil {
			return err
		}
		select {
		case <-mute:
			continue
		default:
		}
		if _, err := line.Write(append(body, crcOf(body)...)); err != nil {
			return nil
		}
	}
}

// TestModbusAgainstAnotherClient has another implementation's serial client send its request and read the answers of our
// captures: the request is the one that our decoder sends, byte for byte, and the numbers are those that it reads.
func TestModbusAgainstAnotherClient(t *testing.T) {
	t.Parallel()
	for _, file := range []string{"probe-registers-clean", "registers-float"} {
		c := capture(t, "../testdata/captures/"+file+".capture")
		d, err := decode.Find(c.Header[1][1])
		if err != nil {
			source, err := os.ReadFile("../testdata/captures/" + c.Header[1][1])
			if err != nil {
				t.Fatal(err)
			}
			if d, err = decode.Load(file, source); err != nil {
				t.Fatal(err)
			}
		}
		listener, err := net.Listen("tcp", "127.0.0.1:0")
		if err != nil {
			t.Fatal(err)
		}
		answers := make(chan []byte)
		asked := make(chan []byte, 1)
		go func() { // the gauge's side of a serial line carried over TCP
			conn, err := listener.Accept()
			if err != nil {
				return
			}
			defer conn.Close()
			for answer := range answers {
				ask := make([]byte, 8)
				if _, err := io.ReadFull(conn, ask); err != nil {
					return
				}
				asked <- ask
				if _, err := conn.Write(answer); err != nil {
					return
				}
			}
		}()
		client, err := modbus.NewClient(&modbus.ClientConfiguration{URL: "rtuovertcp://" + listener.Addr().String(), Speed: 19200, Timeout: patience, Logger: log.New(io.Discard, "", 0)})
		if err != nil {
			t.Fatal(err)
		}
		if err := client.Open(); err != nil {
			t.Fatal(err)
		}
		float := file == "registers-float"
		unit, function, register := d.Request.Bytes[0], d.Request.Bytes[1], binary.BigEndian.Uint16(d.Request.Bytes[2:])
		order, kind := modbus.HIGH_WORD_FIRST, modbus.INPUT_REGISTER
		if float {
			order, kind = modbus.LOW_WORD_FIRST, modbus.HOLDING_REGISTER
		}
		client.SetUnitId(unit)
		client.SetEncoding(modbus.BIG_ENDIAN, order)
		if want := map[modbus.RegType]byte{modbus.HOLDING_REGISTER: 3, modbus.INPUT_REGISTER: 4}[kind]; function != want {
			t.Fatalf("%s: function %d, want %d", file, function, want)
		}
		compared := 0
		for _, e := range c.Decode(d) {
			if e.Value == nil || !e.Value.IsNumber() {
				continue
			}
			answers <- e.Raw
			var theirs string
			if float {
				v, err := client.ReadFloat32(register, kind)
				if err != nil {
					t.Fatalf("%s: %x: %v", file, e.Raw, err)
				}
				theirs = fmt.Sprint(v)
			} else {
				v, err := client.ReadUint32(register, kind)
				if err != nil {
					t.Fatalf("%s: %x: %v", file, e.Raw, err)
				}
				theirs = fmt.Sprint(int32(v))
			}
			if ask := <-asked; !bytes.Equal(ask, d.Request.Bytes) {
				t.Errorf("%s: they ask %x, we ask %x", file, ask, d.Request.Bytes)
			}
			if theirs != e.Value.Digits {
				t.Errorf("%s: %x: they read %s, we read %s", file, e.Raw, theirs, e.Value.Digits)
			}
			compared++
		}
		if compared < 4 {
			t.Errorf("%s: only %d numbers compared", file, compared)
		}
		close(answers)
		client.Close()
		listener.Close()
	}
}

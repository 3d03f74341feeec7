package devices

import (
	"context"
	"errors"
	"time"

	"go.bug.st/serial"

	"sagitta/devices/decode"
)

var errLater = errors.New("devices: later")

type Opener func(name string, mode *serial.Mode) (serial.Port, error)
type Lister func() ([]PortInfo, error)
type PortInfo struct {
	Name     string
	Identity Identity
	Words    string
}
type Port struct{}

func OpenPort(name string, line decode.Line) (*Port, error) { return nil, errLater }
func (p *Port) Name() string                                { return "" }
func (p *Port) Read(b []byte) (int, error)                  { return 0, errLater }
func (p *Port) Write(b []byte) (int, error)                 { return 0, errLater }
func (p *Port) Close() error                                { return nil }
func ListPorts() ([]PortInfo, error)                        { return nil, errLater }

type Options struct {
	Open       Opener
	List       Lister
	Now        func() time.Time
	OnReading  func(Reading)
	OnHealth   func(Health)
	OnFault    func(Fault)
	BackoffMin time.Duration
	BackoffMax time.Duration
}
type Supervisor struct{}

func New(gauges []Gauge, opt Options) (*Supervisor, error) { return nil, errLater }
func (s *Supervisor) Run(ctx context.Context) error        { return nil }
func (s *Supervisor) Health() []Health                     { return nil }
func (s *Supervisor) Send(gauge string, b []byte) error    { return errLater }
func (s *Supervisor) Recent(gauge string) *decode.Capture  { return nil }

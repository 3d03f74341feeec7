package demo

import (
	"context"
	"crypto/rand"
	"fmt"
	"io"
	"math/big"
	"strings"

	"sagitta/batch"
	"sagitta/station/signon"
)

// signer is somebody of the demo with what they prove themselves by.
type signer struct {
	name, badge, role string
	password, pin     string
}

// SignsOn has the demo's people sign on: each gets a badge, and a password and a PIN that were just drawn. Where they do already nobody knows
// theirs but whoever was told, and new ones are drawn.
func (d *Station) SignsOn(ctx context.Context) error {
	on, err := d.SignOn.On(ctx)
	if err != nil {
		return err
	}
	first := signer{name: manager, badge: "IM-01", role: "quality manager, administrator"}
	code := first.name
	if !on {
		code = "" // of the first administrator
	}
	if err := d.draw(ctx, code, &first); err != nil {
		return err
	}
	seal, err := d.SignOn.Prove(ctx, manager, first.password, "the demo's people")
	if err != nil {
		return err
	}
	ctx = batch.WithSeals(ctx, seal)
	if _, err := d.Record.AddPerson(ctx, manager, second, batch.Inspector); err != nil {
		return err
	}
	d.signers = []signer{first, {name: inspector, badge: "WH-01", role: string(batch.Inspector)}, {name: second, badge: "OR-01", role: string(batch.Inspector)},
		{name: repairer, badge: "TF-01", role: string(batch.Repairer)}}
	for i := range d.signers {
		p := &d.signers[i]
		if err := d.Record.SetBadge(ctx, manager, p.name, p.badge); err != nil {
			return err
		}
		if i == 0 {
			continue
		}
		if err := d.draw(ctx, p.name, p); err != nil {
			return err
		}
	}
	return d.Bench.ReloadShop(ctx)
}

// draw gives somebody a password and a PIN by a one-time code of a name.
func (d *Station) draw(ctx context.Context, name string, p *signer) error {
	p.password, p.pin = drawPassword(), drawPIN()
	code, _, err := d.SignOn.IssueCode(ctx, batch.AtTheMachine, name)
	if err == nil {
		_, err = d.SignOn.UseCode(ctx, code, p.name, p.password, p.pin)
	}
	return err
}

// takeBench has the simulated inspector's badge scanned where nobody is at the bench.
func (d *Station) takeBench(ctx context.Context) error {
	if len(d.signers) == 0 || d.Bench.Snapshot().Inspector != "" {
		return nil
	}
	p, err := d.SignOn.SignOnBadge(signon.WithScanner(ctx), "WH-01")
	if err != nil {
		return err
	}
	return d.Bench.SetInspector(ctx, p.Name)
}

// WriteSigners writes what the demo's people sign on with; nothing where nobody does.
func (d *Station) WriteSigners(w io.Writer) {
	if len(d.signers) == 0 {
		return
	}
	fmt.Fprintf(w, "\nPeople sign on. At the bench type a badge as a scanner would, or name and PIN; elsewhere name and password.\n")
	for _, p := range d.signers {
		fmt.Fprintf(w, "  %-19s %-30s badge %s  PIN %s  password %s\n", p.name, p.role, p.badge, p.pin, p.password)
	}
	fmt.Fprintln(w)
}

// words are those of which a demo's password is drawn: five of them, a million million passwords.
var words = strings.Fields(`amber anchor apron arbor autumn badger banjo barley basin beacon birch bishop blanket bonnet border bottle bramble bridge bucket butter
	button candle canyon carbon carpet cedar cellar chisel cider clover cobalt copper coral cotton cradle cricket dagger daisy damson dapple desert dinner
	dolphin donkey dragon eagle ember engine falcon feather fern fiddle finch flannel flint forest fossil fountain gable garden garnet ginger glacier
	goblet gravel guitar hammer harbor harvest hazel heather hedge helmet heron hollow honey indigo island ivory jacket jasper jungle juniper kernel kettle
	ladder lagoon lantern larch ledger lemon linen lizard lobster locket lupin magnet maple marble meadow mellow mirror mitten mortar mustard needle nettle
	nutmeg oboe olive onyx orchard otter oyster paddle parcel parlor pebble pepper pewter pigeon pillow plover pocket poplar quarry quartz quiver rabbit
	radish raven ribbon rocket saddle saffron salmon sandal sapling satchel scarlet shovel shutter silver sparrow spider spruce stable starling summit
	sunset tallow tangle teapot temple thicket thimble thistle timber tinder topaz tunnel turnip turtle umber valley velvet violet walnut warbler willow window
	winter wren yarrow zephyr zinnia`)

func drawPassword() string {
	drawn := make([]string, 5)
	for i := range drawn {
		drawn[i] = words[below(len(words))]
	}
	return strings.Join(drawn, "-")
}

func drawPIN() string {
	for {
		if pin := fmt.Sprintf("%06d", below(1_000_000)); signon.CheckPIN(pin) == nil {
			return pin
		}
	}
}

// below is a drawn number from 0 to less than n.
func below(n int) int {
	drawn, _ := rand.Int(rand.Reader, big.NewInt(int64(n))) // never fails
	return int(drawn.Int64())
}

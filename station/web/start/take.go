package start

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"sagitta/batch"
	"sagitta/batch/instrument"
	"sagitta/station/bench"
	"sagitta/station/web/form"
	"sagitta/station/web/show"
	"sagitta/station/web/site"
)

// takeName enters who works here, where nobody of that name is on file, and signs them on.
func (s *server) takeName(c *site.Request) error {
	if c.SignsOn() {
		return batch.Conflict.Errorf("people sign on here: scan your badge at the bench, or give name and PIN there")
	}
	f := nameForm()
	f.Fill(c)
	name, ctx := f.Text("name", 80), c.Request.Context()
	if f.Ok() {
		if err := s.signOn(ctx, c.By(), name); err != nil {
			f.RefuseAt("name", err)
		}
	}
	if house := batch.House(c.PostForm("house")); f.Ok() && house != "" {
		if err := s.setHouse(ctx, name, house); err != nil {
			return err
		}
		return c.To("/instruments/new")
	}
	return s.answer(c, Path+"/name", f)
}

// takeHouse says for whom the record is kept from now on.
func (s *server) takeHouse(c *site.Request) error {
	f := &form.Form{}
	if err := s.setHouse(c.Request.Context(), c.By(), batch.House(c.PostForm("house"))); err != nil {
		f.Refuse(err)
	}
	return s.answer(c, housePath, f)
}

// setHouse keeps for whom the record is kept; the bench speaks in their words from then.
func (s *server) setHouse(ctx context.Context, by string, h batch.House) error {
	if err := s.opt.Record.SetHouse(ctx, by, h); err != nil {
		return err
	}
	return s.opt.Bench.ReloadShop(ctx)
}

func (s *server) signOn(ctx context.Context, by, name string) error {
	people, err := s.opt.Record.People(ctx)
	if err != nil {
		return err
	}
	if !slices.ContainsFunc(people, func(p batch.Person) bool { return p.Name == name }) {
		role := batch.Inspector
		if len(people) == 0 {
			role, by = batch.QualityManager, name
		}
		p, err := s.opt.Record.AddPerson(ctx, by, name, role)
		if err != nil {
			return err
		}
		name = p.Name
	}
	return s.opt.Bench.SetInspector(ctx, name)
}

// takeGauges enters gauges without a line, those that are not on file yet.
func (s *server) takeGauges(c *site.Request) error {
	with, err := show.HandfulOf(c.PostForm("with"))
	if err != nil {
		return err
	}
	f := &form.Form{}
	if err := with.Enter(c.Request.Context(), s.opt.Record, c.By(), c.Unit(), s.opt.GaugesChanged); err != nil {
		f.Refuse(err)
	}
	return s.answer(c, Path+"/gauges", f)
}

// takeSpec adds a template's specification, fitted to the gauges there are.
func (s *server) takeSpec(c *site.Request) error {
	f := c.Signing(specForm(), batch.ReleaseSpec)
	f.Fill(c)
	name, ctx := f.Choice("template"), c.Sealed(f)
	if f.Ok() {
		for _, t := range instrument.Templates() {
			if t.Name != name {
				continue
			}
			if err := s.addTemplate(ctx, c.By(), t); err != nil {
				f.Refuse(err)
			}
		}
	}
	return s.answer(c, Path+"/spec", f)
}

// usualReason begins the reason of what is added here. A revision with another one was changed by a person, and is not replaced.
const usualReason = "the trade's usual figures, fitted to the gauges there are"

func (s *server) addTemplate(ctx context.Context, by string, t instrument.Template) error {
	gauges, err := show.InUse(ctx, s.opt.Record)
	if err != nil {
		return err
	}
	known, err := s.opt.Record.Specs(ctx)
	if err != nil {
		return err
	}
	text, left, err := fitted(t, gauges, func(name, revision string) bool {
		return slices.ContainsFunc(known, func(sp batch.SpecRevision) bool {
			return sp.Name == name && sp.Revision == revision && (!sp.FrozenAt.IsZero() || !strings.HasPrefix(sp.Reason, usualReason))
		})
	})
	if err != nil {
		return err
	}
	reason := usualReason
	if len(left) > 0 {
		reason += "; left out, because no gauge measures it well enough: " + strings.Join(left, ", ")
	}
	_, err = s.opt.Record.AddSpec(ctx, by, reason, t.Name+".toml", text)
	return err
}

// takeNeck takes one neck to the bench: one that is on file, or a new one in a batch of its own.
func (s *server) takeNeck(c *site.Request) error {
	ctx := c.Request.Context()
	specs, err := s.opt.Record.Specs(ctx)
	if err != nil {
		return err
	}
	if len(specs) == 0 {
		return batch.Conflict.Errorf("there is no specification yet to judge a neck by: choose one first, at %s", Path)
	}
	f := neckForm(specs)
	f.Fill(c)
	serial, spec := f.Text("serial", 60), newestSpec(specs)
	if len(specs) > 1 {
		id := f.Choice("spec")
		for _, sp := range specs {
			if sp.ID == id {
				spec = sp
			}
		}
	}
	if f.Ok() {
		if err := s.toBench(ctx, c.By(), serial, spec); err != nil {
			f.RefuseAt("serial", err)
		}
	}
	if f.Ok() {
		return c.To("/")
	}
	return s.answer(c, Path+"/neck", f)
}

// toBench opens a batch for one neck, unless the neck is on file, and brings it.
func (s *server) toBench(ctx context.Context, by, serial string, spec batch.SpecRevision) error {
	snap := s.opt.Bench.Snapshot()
	switch {
	case snap.Inspector == "":
		return batch.Conflict.Errorf("nobody has signed on at the bench: choose your name above")
	case snap.Check != nil, snap.Study != nil, snap.Stage == bench.Measuring, snap.Stage == bench.PersonDecides:
		return batch.Conflict.Errorf("the bench is busy: finish what is on it, or park it (F4), then bring %s", serial)
	}
	number := ""
	neck, err := s.opt.Record.Neck(ctx, serial)
	switch {
	case err == nil:
		number = neck.BatchNumber
	case batch.KindOf(err) == batch.Absent:
		if number, err = s.singleNumber(ctx, serial); err != nil {
			return err
		}
		opened, err := s.opt.Record.OpenBatch(ctx, by, batch.Batch{Number: number, Spec: spec, Planned: 1, Note: "a single neck"}, []string{serial})
		if err != nil {
			return err
		}
		number = opened.Number
	default:
		return err
	}
	if err := s.opt.Bench.OpenBatch(ctx, number); err != nil {
		return err
	}
	return s.opt.Bench.Entry(ctx, serial, "mm")
}

// singleNumber is a free number for a batch of one neck. An address holds it, so that it has no stroke.
func (s *server) singleNumber(ctx context.Context, serial string) (string, error) {
	all, err := s.opt.Record.Batches(ctx)
	if err != nil {
		return "", err
	}
	number := "single-" + strings.Map(func(r rune) rune {
		if strings.ContainsRune(`/\?#`, r) {
			return '-'
		}
		return r
	}, serial)
	free := number
	for n := 2; slices.ContainsFunc(all, func(b batch.BatchRow) bool { return b.Number == free }); n++ { // 2026/14 and 2026-14 are two necks
		free = fmt.Sprint(number, "-", n)
	}
	return free, nil
}

package bench

import "sagitta/inspect"

// leads says which state is reached from which, a check apart: it may begin in every state but itself, and leaves what lay beneath
// it as it was, but that it ends a sweep and drops a questioned reading that rested on the zero before it.
var leads = map[kind][]kind{
	isNoBatch: {
		isIdle,                             // a batch is opened
		isStudying,                         // a study is taken to the bench
		isMeasuring, isDeciding, isDecided, // the station starts: what the record holds open goes on
	},
	isIdle: {
		isNoBatch,               // the batch is no longer open
		isMeasuring, isDeciding, // a serial number comes: the next attempt begins, or a parked one goes on
		isDecided, // a parked one was complete
		isScannedAgain,
		isStudying,
	},
	isScannedAgain: {
		isIdle,                             // it stays as it is
		isMeasuring, isDeciding, isDecided, // its next attempt begins, or another serial number comes
		isStudying,
	},
	isMeasuring: {
		isQuestioned,          // a reading that may be a slip
		isSweeping,            // a sweep begins
		isDeciding, isDecided, // the last reading that was asked for; a chosen point is no longer asked for; a person decides
		isIdle, // parked, given up
	},
	isQuestioned: {
		isMeasuring, isDeciding, isDecided, // it is used, or not
		isIdle,
	},
	isSweeping: {
		isMeasuring, isDeciding, isDecided, // it ends, or is thrown away
		isIdle,
	},
	isDeciding: {
		isMeasuring, // a point is chosen to be measured again, or the last reading is taken back
		isDecided,   // a person decides
		isIdle,
	},
	isDecided: {
		isMeasuring,    // the last reading is taken back, the next attempt begins, or the next neck comes
		isDeciding,     // a parked neck comes that waits for a person
		isIdle,         // the inspector ends with the neck, or opens another batch
		isScannedAgain, // a neck comes that needs no further inspection
		isStudying,
		isDoubled, // a rework step is recorded once more
	},
	isDoubled: {
		isDecided, // it was done again, or not
	},
	isStudying: {
		isIdle, isNoBatch, // it is complete, or left
	},
}

// become is the only place where the state changes. Of a bench with a check on it what lies beneath changes.
func (b *Bench) become(s state) {
	from := b.base().kind()
	if c, on := b.state.(checking); on {
		c.beneath = s
		b.state = c
	} else {
		b.state = s
	}
	if b.changes != nil && from != s.kind() {
		b.changes(from, s.kind())
	}
}

// base is the state beneath a check, or the state itself.
func (b *Bench) base() state {
	if c, on := b.state.(checking); on {
		return c.beneath
	}
	return b.state
}

// neck is the neck on the bench, nil when there is none.
func (b *Bench) neck() *neck {
	switch s := b.base().(type) {
	case measuring:
		return s.neck
	case questioned:
		return s.neck
	case sweeping:
		return s.neck
	case deciding:
		return s.neck
	case decided:
		return s.neck
	case doubled:
		return s.neck
	}
	return nil
}

// rest is the state with nothing on the bench.
func (b *Bench) rest() state {
	if b.batch == nil {
		return noBatch{}
	}
	return idle{}
}

// settle puts a neck where its readings and its verdict have brought it. A question or a sweep that was about them is over.
func (b *Bench) settle(n *neck) {
	switch {
	case n.verdict == nil || n.Chosen != "":
		b.become(measuring{n})
	case n.verdict.Disposition == inspect.Remeasure:
		b.become(deciding{n})
	default:
		b.become(decided{n})
	}
}

// renew puts a neck on the bench that was read from the record again. A question stays, and a sweep of the track that is still to
// be swept.
func (b *Bench) renew(n *neck) {
	was := b.base()
	b.settle(n)
	if b.base().kind() != isMeasuring {
		return
	}
	switch s := was.(type) {
	case questioned:
		b.become(questioned{n, s.question})
	case sweeping:
		if n.sweepTrack(b.gauges) == s.run.track {
			b.become(sweeping{n, s.run})
		}
	}
}

// cover begins a check over what is on the bench. A check that runs gives way to it.
func (b *Bench) cover(c checking) {
	c.beneath = b.base()
	if s, on := c.beneath.(sweeping); on {
		c.beneath = measuring{s.neck}
	}
	b.state = c
}

// uncover ends a check and shows what lies beneath it.
func (b *Bench) uncover() { b.state = b.base() }

package record

import (
	"context"

	"sagitta/batch"
	"sagitta/inspect"
)

// doubtful are the first measurements of a scope that rest on readings in doubt, as sums that can be taken off those of all.
type doubtful struct {
	*tallies
	specs map[int64][3]string // number, model and revision of a batch, by its order number
	necks map[int64]map[batch.Named]bool
}

// findDoubtful finds the first measurements of a scope that rest on readings in doubt. Of a verdict that readings were taken for, those of
// its limited characteristics do that these readings take part in, and all of an inspection that was taken in without readings. A person's
// clearing and a check's answer end the doubt, and so does a reading taken anew for the same inspection; a later attempt lets the neck go and leaves its first measurement as doubtful as it was.
func (db *DB) findDoubtful(ctx context.Context, s batch.Scope) (*doubtful, error) {
	const what = "reading the first measurements in doubt"
	where, args := scoped(s)
	rows, err := list(ctx, db.reader, scanDoubt, selectDoubt+`JOIN necks n ON n.id = d.neck_id JOIN neck_first f ON f.neck_ord = n.ord
		JOIN verdicts v ON v.ord = f.verdict_ord AND v.inspection_id = d.inspection_id
		JOIN batches b ON b.ord = f.batch_ord JOIN specs sp ON sp.id = b.spec_id `+where+`
		AND NOT EXISTS (SELECT 1 FROM doubt_answers a WHERE a.cause_id = d.cause_id AND a.outcome <> 'not judged')
		AND NOT EXISTS (SELECT 1 FROM doubt_clearances x WHERE x.neck_id = d.neck_id AND x.last_doubt >= d.ord) ORDER BY d.ord`, args...)
	if err != nil {
		return nil, translate(err, what)
	}
	out := &doubtful{tallies: newTallies(), specs: map[int64][3]string{}, necks: map[int64]map[batch.Named]bool{}}
	specs := map[string]*inspect.Spec{}
	for i := range rows {
		if err := db.addDoubtful(ctx, out, &rows[i], specs); err != nil {
			return nil, translate(err, what)
		}
	}
	return out, nil
}

// addDoubtful adds what rests on one doubt's readings. A neck that two doubts are about counts once, and each of its values.
func (db *DB) addDoubtful(ctx context.Context, out *doubtful, r *doubtRow, specs map[string]*inspect.Spec) error {
	readings, err := db.Readings(ctx, r.InspectionID)
	if err != nil {
		return err
	}
	doubted, err := doubtedBy(ctx, db.reader, r)
	if err != nil {
		return err
	}
	var f first
	var number, model, revision, result string
	if err := db.reader.QueryRowContext(ctx, `SELECT `+firstColumns+`, (SELECT number FROM batches WHERE ord = batch_ord) FROM neck_first
		WHERE neck_ord = (SELECT ord FROM necks WHERE id = ?)`, r.Neck.ID).Scan(append(f.into(), &number)...); err != nil {
		return err
	}
	if err := db.reader.QueryRowContext(ctx, `SELECT sp.name, sp.revision, v.result FROM verdicts v JOIN inspections i ON i.id = v.inspection_id JOIN necks n ON n.id = i.neck_id
		JOIN batches b ON b.id = n.batch_id JOIN specs sp ON sp.id = b.spec_id WHERE v.ord = ?`, f.verdict).Scan(&model, &revision, &result); err != nil {
		return err
	}
	var v batch.Verdict
	if err := parseResult(result, &v); err != nil {
		return err
	}
	if specs[number] == nil {
		b, err := db.Batch(ctx, number)
		if err != nil {
			return err
		}
		specs[number] = b.Spec.Spec.WithDefaults()
	}
	known, points := out.necks[f.neck], pointsOf(readings, doubted)
	var rest []inspect.Characteristic
	for _, c := range v.Result.Characteristics {
		if c.Zone != inspect.NoLimit && (r.bare() || batch.RestsOn(specs[number], c, points)) && !known[batch.NameOf(c)] {
			rest = append(rest, c)
		}
	}
	if len(rest) == 0 {
		return nil
	}
	if known == nil {
		known = map[batch.Named]bool{}
		out.necks[f.neck], out.specs[f.batch] = known, [3]string{number, model, revision}
	}
	sums := newTallies()
	if err := sums.add(&f, rest, 1); err != nil {
		return err
	}
	out.take(sums, len(known) == 0)
	for _, c := range rest {
		known[batch.NameOf(c)] = true
	}
	return nil
}

// take adds other sums, those over necks only where their neck is new.
func (s *tallies) take(o *tallies, neck bool) {
	if neck {
		for k, n := range o.firsts {
			to := s.firsts[k]
			if to == nil {
				to = new([3]int)
				s.firsts[k] = to
			}
			for j := range n {
				to[j] += n[j]
			}
		}
	}
	for k, v := range o.values {
		to := s.values[k]
		if to == nil {
			s.values[k] = v
			continue
		}
		to.more(v, 1)
	}
}

// leave takes the doubtful necks off a share, or only counts them.
func leave(v *batch.Share, n [3]int, out bool) {
	v.InDoubt += n[0]
	if out {
		v.Inspected, v.FirstPass, v.FinalPass = v.Inspected-n[0], v.FirstPass-n[1], v.FinalPass-n[2]
	}
}

// less takes the doubtful values off one row's sums, or only counts them; it returns how many there are.
func (v *valueSums) less(o *valueSums, out bool) int {
	if o == nil {
		return 0
	}
	if out {
		v.more(o, -1)
	}
	return o.n
}

// more adds other sums, sign 1, or takes them off, sign -1. With d = ref' - ref, Σ(x - ref) = s1' + n d and Σ(x - ref)² = s2' + 2 d s1' + n d².
func (v *valueSums) more(o *valueSums, sign int) {
	d, f := o.ref-v.ref, float64(sign)
	v.n += sign * o.n
	v.s1 += f * (o.s1 + float64(o.n)*d)
	v.s2 += f * (o.s2 + 2*d*o.s1 + float64(o.n)*d*d)
	v.nonconforming, v.undecided = v.nonconforming+sign*o.nonconforming, v.undecided+sign*o.undecided
	v.unmeasured, v.near = v.unmeasured+sign*o.unmeasured, v.near+sign*o.near
}

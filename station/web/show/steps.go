package show

import (
	"math"

	"sagitta/batch/tell"
	"sagitta/inspect"
	"sagitta/inspect/unit"
)

// StepView is one step of rework.
type StepView struct {
	Do     string
	Front  string   // the step as it is said to whoever does it next, its first place with it
	Effect string   // the one number said in front, "" for none
	Then   string   // the same as whoever does it would say it
	More   []string // the others, folded
	Why    string
	Waits  bool
	Items  []string
	Clock  string // from where to where the rod's nut goes, "" for other work
}

// StepOf puts one step of advice in words.
func StepOf(spec *inspect.Spec, a inspect.Advice, lengths unit.Unit) StepView {
	st := StepView{Do: tell.Upper(inspect.StepWords(a)), Why: a.Why, Waits: a.Waits}
	if a.Turns != nil {
		st.Do += ": " + a.Direction + " " + inspect.TurnsWords(*a.Turns)
	}
	if a.PredictedReliefMM != nil {
		st.Effect = "relief then about " + Length(*a.PredictedReliefMM, lengths)
		if iv := a.IntervalMM; iv != nil {
			st.Effect += " (" + Number(iv[0], lengths) + " to " + Number(iv[1], lengths) + ")"
		}
	}
	st.Then = st.Effect
	for _, p := range a.Predicted {
		of := inspect.Characteristic{Name: p.Name, Track: p.Track, String: p.String, Fret: p.Fret, HeldFret: p.HeldFret}
		name := inspect.Words(spec, of)
		in := p.Unit
		if in == "mm" {
			in = lengths.String()
		}
		effect := " then about " + Value(p.Value, p.Unit, lengths, false) + " " + in
		if p.Front {
			st.Effect, st.Then = name+effect, tell.Worker(of)+effect
		} else {
			st.More = append(st.More, name+effect)
		}
	}
	st.Do += inspect.HarmWords(a)
	for _, it := range a.Items {
		st.Items = append(st.Items, itemWords(a.What, it, lengths))
	}
	if a.What == inspect.StepRod && a.Turns != nil {
		st.Clock = tell.Clock(a.Direction, *a.Turns)
	}
	st.Front = frontWords(spec, a, st, lengths)
	return st
}

// frontWords says a step as an instruction with one place: "Tighten the truss rod an eighth turn, clockwise as you face its nut." The record's own turns tell where a thread is left-handed.
func frontWords(spec *inspect.Spec, a inspect.Advice, st StepView, lengths unit.Unit) string {
	if a.What == inspect.StepRod && a.Turns != nil && *a.Turns > 0 && !a.Waits {
		return tell.Upper(a.Direction) + " the truss rod " + tell.Turn(*a.Turns) + ", " + tell.Way(a.Direction) + " as you face " + tell.RodNut(&spec.Neck) + inspect.HarmWords(a) + "."
	}
	if len(a.Items) == 0 {
		return st.Do + "."
	}
	if it := a.Items[0]; a.What == inspect.StepLevel && it.AmountMM != nil && !a.Waits {
		return tell.Upper(inspect.Place(it.Track, it.String, it.Fret)) + ": press it down and seat it; level what still stands high, " + Length(math.Abs(*it.AmountMM), lengths) + "."
	}
	return st.Do + ": " + itemWords(a.What, a.Items[0], lengths) + "."
}

// itemWords says where and how much: "bass side, fret 9: press it down and seat it; what still stands high, take 0.060 mm off".
func itemWords(what string, it inspect.AdviceItem, lengths unit.Unit) string {
	words := inspect.Place(it.Track, it.String, it.Fret)
	if it.AmountMM != nil {
		mm := *it.AmountMM
		switch {
		case what == inspect.StepAction && it.Track != "":
			words = inspect.BridgeEnd(&it, func(mm float64) string { return Length(mm, lengths) })
		case what == inspect.StepAction && mm < 0:
			words += ": lower the saddle by " + Length(-mm, lengths)
		case what == inspect.StepAction:
			words += ": raise the saddle by " + Length(mm, lengths)
		case what == inspect.StepLevel:
			words += ": press it down and seat it; what still stands high, take " + Length(math.Abs(mm), lengths) + " off"
		case mm < 0:
			words += ": raise by " + Length(-mm, lengths)
		default:
			words += ": cut deeper by " + Length(mm, lengths) + " as measured over fret 1"
		}
	}
	if it.Cents != nil {
		words += ": " + Fixed(*it.Cents, 1, true) + " cents"
	}
	if it.Note != "" {
		words += " (" + it.Note + ")"
	}
	return words
}

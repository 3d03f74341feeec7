package record

import (
	"encoding/json"
	"errors"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"sagitta/batch"
)

// point1 and sealed1 are a point and a reading as they were when the digests of version 1 were written, by encoding/json.
type point1 struct {
	Kind, Track            string
	Fret, String, HeldFret int
}

type sealed1 struct {
	ID, InspectionID          string
	Seq                       int64
	Point                     point1
	Round                     int
	At                        time.Time
	Value, U, URepeat         float64
	Withdrawn                 bool
	Supersedes, By, Reason    string
	GaugeID, CheckID, Decoder string
	Raw                       []byte
	Offset                    int64
	Sent, Unit                string
	Decoded                   float64
	FeetMM                    [2]float64
	PlungerMM                 float64
}

func sealed(r batch.Reading) sealed1 {
	return sealed1{r.ID, r.InspectionID, r.Seq, point1{string(r.Point.Kind), r.Point.Track, r.Point.Fret, r.Point.String, r.Point.HeldFret}, r.Round, r.At, r.Value, r.U, r.URepeat,
		r.Withdrawn, r.Supersedes, r.By, r.Reason, r.GaugeID, r.CheckID, r.Decoder, r.Raw, r.Offset, r.Sent, r.Unit, r.Decoded, r.FeetMM, r.PlungerMM}
}

// The encoding of version 1 is that of encoding/json over the reading of its time, byte for byte, whatever a reading holds.
func TestReadingEncoding1(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 9))
	texts := []string{"", "bass", "a \"quoted\" \\ word", "<b> & </b>", "\x00\x01\x1f\x7f\b\f\n\r\t", "\u2028\u2029", "\xff\xc3(\xe2\x82", "\ufffd", "Ærø, 北, 🎸", "e-06"}
	numbers := []float64{0, math.Copysign(0, -1), 1, -0.1, 1e-6, 9.999999e-7, -1e-7, 1.5e-10, 5e-324, 1e20, 1e21, -1.25e22, 1e100, math.MaxFloat64, 0.1 + 0.2, 1e-12}
	times := []time.Time{{}, time.Unix(0, 1).UTC(), time.Unix(1_790_000_000, 120_000_000).UTC(), time.Unix(1_790_000_000, 0).UTC(), time.Unix(0, math.MaxInt64).UTC(), time.Unix(0, math.MinInt64).UTC()}
	text := func() string { return texts[random.IntN(len(texts))] }
	number := func() float64 {
		if random.IntN(2) == 0 {
			return numbers[random.IntN(len(numbers))]
		}
		for {
			if f := math.Float64frombits(random.Uint64()); !math.IsNaN(f) && !math.IsInf(f, 0) {
				return f
			}
		}
	}
	for range 20_000 {
		r := batch.Reading{ID: text(), InspectionID: text(), Seq: random.Int64() - random.Int64(), Round: random.IntN(9), At: times[random.IntN(len(times))],
			Point: batch.Point{Kind: batch.Kind(text()), Track: text(), Fret: random.IntN(25), String: random.IntN(9), HeldFret: random.IntN(3)},
			Value: number(), U: number(), URepeat: number(), Withdrawn: random.IntN(2) == 0, Supersedes: text(), By: text(), Reason: text(), GaugeID: text(), CheckID: text(),
			Decoder: text(), Raw: [][]byte{nil, {}, {0}, {0xff, 0xfe}, []byte("+0.012mm\r\n")}[random.IntN(5)], Offset: random.Int64(), Sent: text(), Unit: text(), Decoded: number(),
			FeetMM: [2]float64{number(), number()}, PlungerMM: number()}
		want := must(json.Marshal(sealed(r)))(t)
		if got := reading1(r); string(got) != string(want) {
			t.Fatalf("got  %s\nwant %s", got, want)
		}
	}
}

// unsealed lists, by version, the fields of a reading that its digests do not hold: those that a reading gained after it.
var unsealed = map[int][]string{1: {"Laying"}, 2: {}}

// Every field of a reading is sealed by each version's digests or is listed as one that it does not seal; a field that is not
// sealed cannot change a digest.
func TestEveryFieldIsSealedOrListed(t *testing.T) {
	for version, encode := range readingEncodings {
		empty := string(encode(batch.Reading{}))
		var look func(name string, at func(*batch.Reading) reflect.Value, kind reflect.Type)
		look = func(name string, at func(*batch.Reading) reflect.Value, kind reflect.Type) {
			switch {
			case kind.Kind() == reflect.Struct && kind != reflect.TypeFor[time.Time]():
				for i := range kind.NumField() {
					look(strings.TrimPrefix(name+"."+kind.Field(i).Name, "."), func(r *batch.Reading) reflect.Value { return at(r).Field(i) }, kind.Field(i).Type)
				}
				return
			case kind.Kind() == reflect.Array:
				for i := range kind.Len() {
					look(name, func(r *batch.Reading) reflect.Value { return at(r).Index(i) }, kind.Elem())
				}
				return
			}
			var r batch.Reading
			v := at(&r)
			switch v.Kind() {
			case reflect.String:
				v.SetString("x")
			case reflect.Int, reflect.Int64:
				v.SetInt(1)
			case reflect.Float64:
				v.SetFloat(1)
			case reflect.Bool:
				v.SetBool(true)
			case reflect.Slice:
				v.Set(reflect.MakeSlice(kind, 1, 1))
			case reflect.Struct:
				v.Set(reflect.ValueOf(time.Unix(1, 0)))
			default:
				t.Errorf("%s: a field of kind %s is not looked at", name, v.Kind())
			}
			if listed, changes := slices.Contains(unsealed[version], name), string(encode(r)) != empty; listed == changes {
				t.Errorf("version %d: %s changes the digest: %v; listed as not sealed: %v", version, name, changes, listed)
			}
		}
		look("", func(r *batch.Reading) reflect.Value { return reflect.ValueOf(r).Elem() }, reflect.TypeFor[batch.Reading]())
	}
}

func TestDigestIn(t *testing.T) {
	for _, c := range []struct {
		detail, sum string
		kind        error
	}{
		{"pass; sha256 0a1b", "0a1b", nil},
		{"scrap, cracked; glued; sha256 0a1b", "0a1b", nil},
		{"pass; digest 1, sha256 0a1b", "0a1b", nil},
		{"concession, digest 7; told; digest 1, sha256 0a1b", "0a1b", nil},
		{"pass; digest 3, sha256 0a1b", "", ErrNewer},
		{"pass; digest x, sha256 0a1b", "", ErrAudit},
		{"", "", ErrAudit},
	} {
		version, sum, err := digestIn(c.detail)
		if sum != c.sum || !errors.Is(err, c.kind) || err == nil && version != 1 {
			t.Errorf("%q: version %d, %q, %v", c.detail, version, sum, err)
		}
	}
	if _, sum, err := digestIn(verdictDetail(&batch.Verdict{Disposition: "pass", Reason: "a; digest 3, sha256 ff"}, "0a1b")); sum != "0a1b" || err != nil {
		t.Errorf("%q, %v", sum, err)
	}
}

package score

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"reflect"
	"testing"

	"pgregory.net/rapid"
)

func drawTrials(r *rapid.T) []Trial {
	name := rapid.OneOf(rapid.SampledFrom([]string{"battery", "fuel-pump", StepName("battery", "fuel-pump"), ""}), rapid.String())
	number := rapid.Custom(func(r *rapid.T) float64 {
		if rapid.Bool().Draw(r, "any") {
			return math.Float64frombits(rapid.Uint64().Filter(func(b uint64) bool { return !math.IsNaN(math.Float64frombits(b)) }).Draw(r, "bits"))
		}
		return float64(rapid.IntRange(0, 9).Draw(r, "whole")) * 500
	})
	list := make([]Trial, rapid.IntRange(0, 40).Draw(r, "count"))
	for i := range list {
		list[i] = Trial{
			Kind: TrialKind(rapid.SampledFrom([]string{string(TrialItem), string(TrialStep), string(TrialFigure), "other"}).Draw(r, "kind")),
			Name: name.Draw(r, "name"), Right: rapid.Bool().Draw(r, "right"), Told: rapid.Bool().Draw(r, "told"), Slow: rapid.Bool().Draw(r, "slow"),
			ParMS: number.Draw(r, "par"),
		}
		if rapid.Bool().Draw(r, "timed") {
			v := number.Draw(r, "reaction")
			list[i].ReactionMS = &v
		}
	}
	return list
}

// What is packed comes back to the bit, and the same always packs to the same.
func TestPackedTrials(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		list := drawTrials(r)
		packed := PackTrials(list)
		if !bytes.Equal(packed, PackTrials(list)) {
			r.Fatal("packed twice it is not the same")
		}
		back, err := UnpackTrials(packed)
		if err != nil || !reflect.DeepEqual(back, list) {
			r.Fatalf("%v came back as %v, %v", list, back, err)
		}
		spoilt := bytes.Clone(packed)
		spoilt[rapid.IntRange(0, len(spoilt)-1).Draw(r, "at")] ^= 1 << rapid.IntRange(0, 7).Draw(r, "bit")
		if _, err := UnpackTrials(spoilt); !errors.Is(err, ErrPacked) {
			r.Fatalf("with one bit changed: %v, want %v", err, ErrPacked)
		}
		if _, err := UnpackTrials(packed[:rapid.IntRange(0, len(packed)-1).Draw(r, "short")]); !errors.Is(err, ErrPacked) {
			r.Fatalf("cut short: %v, want %v", err, ErrPacked)
		}
	})
}

// A trial that gets another field has to be packed with it.
func TestEveryFieldIsPacked(t *testing.T) {
	v := 1.5
	one := reflect.New(reflect.TypeFor[Trial]()).Elem()
	for i := range one.NumField() {
		switch f := one.Field(i); f.Kind() {
		case reflect.String:
			f.SetString(fmt.Sprint("text", i))
		case reflect.Bool:
			f.SetBool(true)
		case reflect.Float64:
			f.SetFloat(v)
		case reflect.Pointer:
			f.Set(reflect.ValueOf(&v))
		default:
			t.Fatalf("nobody packs a %s: %s", f.Kind(), one.Type().Field(i).Name)
		}
	}
	want := []Trial{one.Interface().(Trial)}
	if got, err := UnpackTrials(PackTrials(want)); err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("%+v came back as %+v, %v", want, got, err)
	}
}

// manyTrials are those of a long sitting.
func manyTrials(n int) []Trial {
	list := make([]Trial, n)
	for i := range list {
		v := 700 + float64(i)*1.25
		list[i] = Trial{Kind: TrialItem, Name: fmt.Sprintf("item-of-name-%d", i), Right: i%7 > 0, Told: true, ReactionMS: &v, ParMS: 2000}
		if i%2 > 0 {
			list[i] = Trial{Kind: TrialStep, Name: StepName(list[i-1].Name, fmt.Sprintf("item-of-name-%d", i+1)), Right: true}
		}
	}
	return list
}

func BenchmarkUnpackTrials(b *testing.B) {
	packed := PackTrials(manyTrials(200))
	for b.Loop() {
		if _, err := UnpackTrials(packed); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(len(packed)), "bytes")
}

package score

import (
	"encoding/binary"
	"hash/crc32"
	"reflect"
	"testing"
)

// Packed trials that somebody changed, and gave the right sum again, are refused or are other trials; never is anything read that is not
// there. Every byte is changed in turn to what lies at its bounds, and every length is cut off.
func TestPackedTrialsThatWereChangedAndSealed(t *testing.T) {
	reaction := 812.5
	list := []Trial{
		{Kind: TrialItem, Name: "battery", Right: true, ReactionMS: &reaction, ParMS: 2000}, {Kind: TrialStep, Name: StepName("battery", "brake"), Told: true},
		{Kind: TrialNotice, Name: "fire", Slow: true, Right: true, ReactionMS: &reaction, ParMS: 3000}, {Kind: TrialItem, Name: ""},
	}
	seal := func(body []byte) []byte { return binary.LittleEndian.AppendUint32(body, crc32.ChecksumIEEE(body)) }
	whole := PackTrials(list)
	body := whole[:len(whole)-4]
	if got, err := UnpackTrials(seal(append([]byte{}, body...))); err != nil || !reflect.DeepEqual(got, list) {
		t.Fatalf("%+v, %v", got, err)
	}
	try := func(what string, at int, changed []byte, refused bool) {
		t.Helper()
		got, err := UnpackTrials(seal(changed))
		switch {
		case err != nil && err != ErrPacked:
			t.Errorf("%s at %d: %v", what, at, err)
		case refused && err == nil:
			t.Errorf("%s at %d: taken for %+v", what, at, got)
		case err == nil:
			if _, err := UnpackTrials(PackTrials(got)); err != nil {
				t.Errorf("%s at %d: %+v cannot be packed again", what, at, got)
			}
		}
	}
	for n := range body {
		try("cut off", n, append([]byte{}, body[:n]...), true)
		try("one byte too many", n, append(append([]byte{}, body[:n]...), append([]byte{0}, body[n:]...)...), n == 0)
		for _, by := range []byte{0, 1, 2, 3, 4, 5, 6, 7, 8, 0x7f, 0x80, 0xff, body[n] + 1, body[n] - 1} {
			changed := append([]byte{}, body...)
			changed[n] = by
			try("changed", n, changed, n == 0 && by != body[0])
		}
	}
	try("one byte too many", len(body), append(append([]byte{}, body...), 0), true)
	for _, huge := range []uint64{1 << 31, 1 << 32, 1 << 62, 1<<64 - 1} { // counts beyond what there is
		for n := range 4 {
			changed := []byte{packedForm}
			for k := range 4 {
				if k == n {
					changed = binary.AppendUvarint(changed, huge)
				} else {
					changed = append(changed, 0)
				}
			}
			try("a count beyond all bounds", n, changed, true)
		}
	}
	for n := range 9 {
		if _, err := UnpackTrials(whole[:n]); err != ErrPacked {
			t.Errorf("%d bytes: %v", n, err)
		}
	}
	if got, err := UnpackTrials(PackTrials(nil)); err != nil || len(got) != 0 {
		t.Errorf("no trials: %+v, %v", got, err)
	}
}

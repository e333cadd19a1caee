package aircraft

import (
	"encoding/json"
	"testing"
)

// Settings keep their order in JSON too, whatever the names of the controls.
func TestSettingsKeepTheirOrder(t *testing.T) {
	s := Put("guard", "open", "cut", "closed", "battery", `"off"`)
	body, err := json.Marshal(s)
	if want := `{"guard":"open","cut":"closed","battery":"\"off\""}`; err != nil || string(body) != want {
		t.Errorf("%s, %v; want %s", body, err, want)
	}
	if body, err := json.Marshal(Settings(nil)); err != nil || string(body) != "{}" {
		t.Errorf("%s, %v", body, err)
	}
	if at, ok := s.Of("cut"); at != "closed" || !ok {
		t.Errorf("%q %v", at, ok)
	}
	if at, ok := s.Of("gen"); at != "" || ok {
		t.Errorf("%q %v", at, ok)
	}
}

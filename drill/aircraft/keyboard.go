package aircraft

import "strings"

// KeyRow is one row of keys and the zone of the cockpit that it stands for.
type KeyRow struct {
	Zone Zone
	Keys []string // from left to right, by their labels on a US QWERTY keyboard
}

// The key behind the last of them, whose shift is the question mark on a US keyboard, shows the keys on every profile.
var keyRows = []KeyRow{
	{Overhead, strings.Split("1234567890-=", "")},
	{Panel, strings.Split("qwertyuiop[]", "")},
	{Console, strings.Split("asdfghjkl;'", "")},
	{Hands, strings.Split("zxcvbnm,.", "")},
}

// KeyRows gives the rows of keys from top to bottom. It belongs to the package and is only to be read.
func KeyRows() []KeyRow { return keyRows }

// zoneOf is the zone that a key stands in, or "" if controls cannot have it.
func zoneOf(key string) Zone {
	for _, row := range keyRows {
		for _, k := range row.Keys {
			if k == key {
				return row.Zone
			}
		}
	}
	return ""
}

// allKeys is every key that a control can have.
func allKeys() []string {
	var keys []string
	for _, row := range keyRows {
		keys = append(keys, row.Keys...)
	}
	return keys
}

package library

import (
	"bytes"
	"encoding/json"
)

// Documents that were kept with earlier logs are brought up to date as they are read, so that such a sitting can still be
// judged. Those of version 2 may call an engine that the crew has motored aired, and say nothing of what a belt takes up that
// slips, nor of what a second magneto is good for. What those of version 1 said that can be said today keeps its meaning:
//
//   - the mode of a scenario is its policy, by the same name;
//   - the crew member of an item, which nothing ever went by, goes;
//   - so do the two texts about how an abnormal ended, which had no condition: without one that holds, a report gives figures.

// updated gives the packed documents as they would be written today.
func (p packed) updated() packed {
	for i, a := range p.Abnormals {
		if was, ok := fields(a)["aired"]; ok {
			p.Abnormals[i] = rewrite(a, func(abnormal map[string]json.RawMessage) {
				abnormal["motored"] = was
				delete(abnormal, "aired")
			})
		}
	}
	p.Profile = beltThatHeats(p.Profile)
	if _, first := fields(p.Scenario)["mode"]; !first {
		return p
	}
	p.Scenario = rewrite(p.Scenario, func(scenario map[string]json.RawMessage) {
		scenario["policy"] = scenario["mode"]
		delete(scenario, "mode")
	})
	p.Procedure = rewrite(p.Procedure, func(procedure map[string]json.RawMessage) {
		procedure["phases"] = rewriteEach(procedure["phases"], func(phase map[string]json.RawMessage) {
			phase["items"] = rewriteEach(phase["items"], func(item map[string]json.RawMessage) { delete(item, "crew") })
		})
	})
	abnormals := make([]json.RawMessage, len(p.Abnormals))
	for i, a := range p.Abnormals {
		abnormals[i] = rewrite(a, func(abnormal map[string]json.RawMessage) { delete(abnormal, "ends") })
	}
	p.Abnormals = abnormals
	return p
}

// beltThatHeats gives an earlier profile the figures of a piston engine and its belt that it could not state: those of a belt that
// nothing heats for long, and of the plug that the program then had.
func beltThatHeats(profile json.RawMessage) json.RawMessage {
	state := func(of map[string]json.RawMessage, part string, figures map[string]string) {
		if inner := fields(of[part]); inner == nil {
			return
		}
		of[part] = rewrite(of[part], func(all map[string]json.RawMessage) {
			for name, figure := range figures {
				if _, stated := all[name]; !stated {
					all[name] = json.RawMessage(figure)
				}
			}
		})
	}
	if fields(fields(profile)["systems"])["clutch"] == nil {
		return profile
	}
	return rewrite(profile, func(all map[string]json.RawMessage) {
		all["systems"] = rewrite(all["systems"], func(systems map[string]json.RawMessage) {
			state(systems, "clutch", map[string]string{"heat_j_per_k": "100000", "cools_s": "1"})
			state(systems, "piston", map[string]string{"second_plug": "0.06"})
		})
	})
}

// fields gives the fields of a JSON object; none of anything else.
func fields(body json.RawMessage) (all map[string]json.RawMessage) {
	if json.Unmarshal(body, &all) != nil {
		return nil
	}
	return all
}

// rewrite changes a JSON object, in place of which anything else stays as it is.
func rewrite(body json.RawMessage, change func(map[string]json.RawMessage)) json.RawMessage {
	all := fields(body)
	if all == nil {
		return body
	}
	change(all)
	return toJSON(all)
}

// rewriteEach changes each object of a JSON list.
func rewriteEach(body json.RawMessage, change func(map[string]json.RawMessage)) json.RawMessage {
	var list []json.RawMessage
	if json.Unmarshal(body, &list) != nil || bytes.Equal(body, []byte("null")) {
		return body
	}
	for i := range list {
		list[i] = rewrite(list[i], change)
	}
	return toJSON(list)
}

package classroom

import (
	"bytes"
	"encoding/json"
)

// Sealed is what somebody hands in who makes a head by hand that is sound, with any
// record and anything in it.
func Sealed(h Head, body []byte) []byte {
	h.Sum = h.sum()
	first, _ := json.Marshal(h)
	last, _ := json.Marshal(ending{h})
	return bytes.Join([][]byte{first, append(body, last...)}, []byte("\n"))
}

// Look says what one file is, by itself.
func Look(c *Class, path, name string) Item {
	i, _ := (&looker{class: c, hashes: map[string]string{}}).look(path, name)
	return i
}

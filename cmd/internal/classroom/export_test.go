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

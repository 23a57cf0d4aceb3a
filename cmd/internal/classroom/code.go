package classroom

import (
	"crypto/sha256"
	"fmt"
	"strings"
)

// signs of a code: neither 0 nor O, neither 1, I nor L. There are 31 of them, a prime,
// so that a weighted sum notices every single sign that was misread and every two
// neighbours that were exchanged.
const signs = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"

// codeLength is five signs that say something and one that checks them.
const codeLength = 6

// Code is the code of some texts, in their order.
func Code(texts ...string) string {
	sum := sha256.Sum256([]byte(strings.Join(texts, "\x00")))
	n := uint64(0)
	for _, b := range sum[:7] {
		n = n<<8 | uint64(b)
	}
	var code [codeLength]byte
	for i := range codeLength - 1 {
		code[i] = signs[n%uint64(len(signs))]
		n /= uint64(len(signs))
	}
	code[codeLength-1] = checkSign(code[:codeLength-1])
	return string(code[:])
}

// checkSign makes the weighted sum of all signs nought: weights 1 to 6 for the places.
func checkSign(code []byte) byte {
	sum := 0
	for i, c := range code {
		sum += (i + 1) * strings.IndexByte(signs, c)
	}
	p := len(signs)
	for v := range p {
		if (sum+codeLength*v)%p == 0 {
			return signs[v]
		}
	}
	panic("31 is a prime")
}

// ReadCode takes a code as somebody wrote it: small letters, blanks and dashes don't
// matter. The error says that it can't be a code, so something was misread.
func ReadCode(text string) (string, error) {
	code := strings.ToUpper(strings.Map(func(r rune) rune {
		if strings.ContainsRune(" -_.", r) {
			return -1
		}
		return r
	}, text))
	for _, r := range code {
		if !strings.ContainsRune(signs, r) {
			return "", fmt.Errorf("%q is no code: %q is never in one", text, r)
		}
	}
	if len(code) != codeLength {
		return "", fmt.Errorf("%q is no code: it has %d signs, not %d", text, len(code), codeLength)
	}
	if checkSign([]byte(code[:codeLength-1])) != code[codeLength-1] {
		return "", fmt.Errorf("%q is no code: at least one sign is not the right one", text)
	}
	return code, nil
}

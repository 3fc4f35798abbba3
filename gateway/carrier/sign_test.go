package carrier_test

import (
	"crypto/hmac"
	"crypto/sha256"
)

func hmacSHA256(key, content string) []byte {
	h := hmac.New(sha256.New, []byte(key))
	h.Write([]byte(content))
	return h.Sum(nil)
}

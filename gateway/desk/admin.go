package desk

import (
	"encoding/json"
	"net/http"
)

// adminPath is where the interface for programs begins.
const adminPath = "/admin/v1/"

// answerError answers a program with why nothing was done.
func answerError(w http.ResponseWriter, status int, why string) {
	answer(w, status, map[string]string{"error": why})
}

func answer(w http.ResponseWriter, status int, v any) {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(v)
}

package wording_test

import "testing"

// On paper words have their own letters; what is to be typed stays as it is.
func TestPrintHasFullLetters(t *testing.T) {
	c := embedded(t)
	for _, row := range [][3]string{
		{"fr", "Arretez: le recu d'un controle, cotés et charancons. RECU", "Arrêtez: le reçu d'un contrôle, côtés et charançons. RECU"},
		{"ha", "Kwari a kasa: ku bude, ku kirga.", "Ƙwari a ƙasa: ku buɗe, ku ƙirga."},
		{"ha", "Ku kare ido daga kura.", "Ku kare ido daga ƙura."}, // protect; ƙare is to end
		{"sw", "Pima tena.", "Pima tena."}, {"en", "Stop at once.", "Stop at once."},
	} {
		if got := c.Print(row[0], row[1]); got != row[2] {
			t.Errorf("%s prints %q as %q, want %q", row[0], row[1], got, row[2])
		}
	}
}

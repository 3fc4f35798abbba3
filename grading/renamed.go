package grading

// renamed gives today's name of what files knew by another.
var renamed = map[string]string{
	"organic_g": "chaff_g", "inorganic_g": "stones_g", "organic_matter": "chaff", "inorganic_matter": "stones",
	"heating": string(Warm), "mass": "weight", "count_per_mass": "count_per_weight", "% mass": string(PercentWeight),
	"kernels": string(OfGrains), "husked_kernels": "husked_grains",
}

// Renamed is the name that took the place of an old one, of a key, a flag, a
// unit, a basis or a parameter; "" where none did. Input that says the old name
// is refused with it.
func Renamed(old string) string { return renamed[old] }

// oldName refuses an old name in readings; nil when it is none.
func oldName(name string) error {
	if now := Renamed(name); now != "" {
		return &InputError{Field: name, Want: "its new name, \"" + now + "\""}
	}
	return nil
}

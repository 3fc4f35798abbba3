package main

import "runtime/debug"

// version is what the build recorded about itself: the module's version or the
// revision it was built from.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	v := info.Main.Version
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" && len(s.Value) >= 12 {
			v += " " + s.Value[:12]
		}
		if s.Key == "vcs.modified" && s.Value == "true" {
			v += " modified"
		}
	}
	return v + " " + info.GoVersion
}

package gsm

// MaxUSSDSeptets is the longest text of one USSD message: 160 octets hold 182
// septets. Source: [TS-23.038], [TS-29.002 §17.7.4].
const MaxUSSDSeptets = 182

// Pack puts septets into octets as an SMS carries them, lowest bits first,
// spare bits zero. Source: [TS-23.038 §6.1.2.1].
func Pack(septets []byte) []byte {
	octets := make([]byte, (len(septets)*7+7)/8)
	for i, s := range septets {
		bit := i * 7
		v := uint16(s&0x7f) << (bit % 8)
		octets[bit/8] |= byte(v)
		if high := byte(v >> 8); high != 0 {
			octets[bit/8+1] |= high
		}
	}
	return octets
}

// Unpack takes n septets out of an SMS's octets; fewer when the octets end
// before.
func Unpack(octets []byte, n int) []byte {
	n = max(0, min(n, len(octets)*8/7))
	septets := make([]byte, n)
	for i := range septets {
		bit := i * 7
		v := uint16(octets[bit/8])
		if bit/8+1 < len(octets) {
			v |= uint16(octets[bit/8+1]) << 8
		}
		septets[i] = byte(v>>(bit%8)) & 0x7f
	}
	return septets
}

// PackUSSD puts septets into octets as USSD carries them, which has no count:
// seven spare bits at the end hold a carriage return, so that they are not
// read as an @, and a text that itself ends in one on an octet boundary gets
// one more. Source: [TS-23.038 §6.1.2.3.1].
func PackUSSD(septets []byte) []byte {
	switch n := len(septets); {
	case n%8 == 7:
		return Pack(append(septets[:n:n], cr))
	case n > 0 && n%8 == 0 && septets[n-1] == cr:
		return append(Pack(septets), cr)
	default:
		return Pack(septets)
	}
}

// UnpackUSSD takes the septets out of a USSD message's octets: a carriage
// return that ends on an octet boundary is padding. Source: [TS-23.038
// §6.1.2.3.1]. A text of 8n septets that ends in a carriage return was given
// one more, in an octet of its own, whose last bit is padding too.
func UnpackUSSD(octets []byte) []byte {
	n := len(octets) * 8 / 7
	septets := Unpack(octets, n)
	switch {
	case n > 0 && n%8 == 0 && septets[n-1] == cr:
		return septets[:n-1]
	case n > 1 && n%8 == 1 && septets[n-1] == cr && septets[n-2] == cr:
		return septets[:n-1]
	}
	return septets
}

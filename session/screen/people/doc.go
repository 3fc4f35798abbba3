// Package people has the screens about who somebody is: the welcome, settings,
// growers, invitations and moves to another phone.
package people

//go:build race

package main

const usualSeeds = 30

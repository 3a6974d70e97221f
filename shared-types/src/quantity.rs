//! Lengths, forces, masses and their units: parsed as a mechanic writes them, computed in SI.

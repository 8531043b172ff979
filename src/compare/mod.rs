//! Rows, distances, landmarks, findings, verdict: what the placed drawing and the mesh differ by.

//! An orthographic view of a mesh: exact outline and exact row spans. Knows nothing of drawings.

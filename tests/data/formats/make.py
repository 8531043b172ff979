"""Writes the mesh files that tests/mesh_formats.rs reads, with general-purpose libraries: trimesh 4.12.2, pygltflib 1.16.5.

    pip install trimesh==4.12.2 pygltflib==1.16.5 numpy && python make.py

The body is a box of 2 x 4 x 6 about (1, 2, 3) and, as a mesh of its own, an octahedron of radius 1.5 about (0, 8, 0).
"""

import base64
import struct

import numpy as np
import pygltflib as g
import trimesh

box = trimesh.creation.box(extents=(2, 4, 6))
box.apply_translation((1, 2, 3))
ball = trimesh.Trimesh(
    vertices=np.array([[1.5, 0, 0], [-1.5, 0, 0], [0, 1.5, 0], [0, -1.5, 0], [0, 0, 1.5], [0, 0, -1.5]]) + [0, 8, 0],
    faces=[[0, 2, 4], [2, 1, 4], [1, 3, 4], [3, 0, 4], [2, 0, 5], [1, 2, 5], [3, 1, 5], [0, 3, 5]],
    process=False,
)
both = trimesh.util.concatenate([box, ball])

for name, kind in [("both.stl", "stl"), ("both-text.stl", "stl_ascii")]:
    data = both.export(file_type=kind)
    open(name, "wb").write(data if isinstance(data, bytes) else data.encode())
# Without the library's own comment.
COMMENT = b"comment " + b"https://" + b"github.com/mikedh/trimesh\n"
open("both.ply", "wb").write(both.export(file_type="ply").replace(COMMENT, b""))
open("both-text.ply", "wb").write(both.export(file_type="ply", encoding="ascii").replace(COMMENT, b""))
# No library at hand writes big-endian files: the same, turned number by number.
head = b"ply\nformat binary_big_endian 1.0\nelement vertex %d\nproperty float x\nproperty float y\nproperty float z\n" % len(
    both.vertices
) + b"element face %d\nproperty list uchar int vertex_indices\nend_header\n" % len(both.faces)
body = b"".join(struct.pack(">3f", *v) for v in both.vertices)
body += b"".join(struct.pack(">B3i", 3, *f) for f in both.faces)
open("both-big.ply", "wb").write(head + body)

scene = trimesh.Scene()
scene.add_geometry(box, geom_name="box", node_name="box")
scene.add_geometry(ball, geom_name="ball", node_name="ball")
open("both.glb", "wb").write(scene.export(file_type="glb"))

# By pygltflib: the same meshes in their own places, moved, turned and mirrored by nodes; positions interleaved with other
# numbers (strided), short indices, a buffer in a file of its own.
points, index = [], []
for mesh, at in [(box, (1, 2, 3)), (ball, (0, 8, 0))]:
    points.append(np.asarray(mesh.vertices - at, dtype="<f4"))
    index.append(np.asarray(mesh.faces, dtype="<u2").ravel())
blob, views, accessors, meshes = b"", [], [], []
for p, i in zip(points, index):
    strided = np.zeros((len(p), 5), dtype="<f4")
    strided[:, :3] = p
    views.append(g.BufferView(buffer=0, byteOffset=len(blob), byteLength=strided.nbytes, byteStride=20, target=g.ARRAY_BUFFER))
    blob += strided.tobytes()
    views.append(g.BufferView(buffer=0, byteOffset=len(blob), byteLength=i.nbytes, target=g.ELEMENT_ARRAY_BUFFER))
    blob += i.tobytes() + b"\0" * (-i.nbytes % 4)
    accessors.append(
        g.Accessor(
            bufferView=len(views) - 2,
            componentType=g.FLOAT,
            count=len(p),
            type=g.VEC3,
            min=p.min(axis=0).tolist(),
            max=p.max(axis=0).tolist(),
        )
    )
    accessors.append(g.Accessor(bufferView=len(views) - 1, componentType=g.UNSIGNED_SHORT, count=len(i), type=g.SCALAR))
    meshes.append(
        g.Mesh(primitives=[g.Primitive(attributes=g.Attributes(POSITION=len(accessors) - 2), indices=len(accessors) - 1)])
    )
half = 0.5**0.5
document = g.GLTF2(
    asset=g.Asset(version="2.0"),
    scene=0,
    scenes=[g.Scene(nodes=[0])],
    nodes=[
        # A quarter turn about y, undone by the box's own node; the ball is the same either way, also mirrored.
        g.Node(name="root", rotation=[0, half, 0, half], children=[1, 2]),
        g.Node(name="box", mesh=0, rotation=[0, -half, 0, half], translation=[-3, 2, 1]),
        g.Node(name="ball", mesh=1, scale=[-1, 1, 1], translation=[0, 8, 0]),
    ],
    meshes=meshes,
    accessors=accessors,
    bufferViews=views,
    buffers=[g.Buffer(byteLength=len(blob), uri="a%20buffer.bin")],
)
open("a buffer.bin", "wb").write(blob)
document.save("nodes.gltf")
document.buffers[0].uri = "data:application/octet-stream;base64," + base64.b64encode(blob).decode()
document.save("embedded.gltf")

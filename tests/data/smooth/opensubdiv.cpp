// Makes opensubdiv.txt: what OpenSubdiv (the Debian package libosd-dev) makes of the cages beside this file.
//   c++ -O1 opensubdiv.cpp -losdCPU -o opensubdiv && ./opensubdiv cube.obj mixed.obj border.obj crease.obj uv.obj > opensubdiv.txt
// Catmull-Clark, in doubles. Borders by the rule "edge only" and by "edge and corner"; face-varying values by the rule
// "linear boundaries". Creases stand in a cage as comments: "#crease a b sharpness", counted from 1.
// A line of a block is a position x y z, with texture coordinates u v behind it in blocks of kind "uv". The lines of
// "steps" and "limit" blocks are all vertices, those of "uv" all pairs of vertex and value that occur, both sorted.
#include <opensubdiv/far/primvarRefiner.h>
#include <opensubdiv/far/topologyDescriptor.h>
#include <opensubdiv/version.h>

#include <algorithm>
#include <array>
#include <cstdio>
#include <fstream>
#include <set>
#include <sstream>
#include <string>
#include <vector>

using namespace OpenSubdiv;

struct Point {
    double x[3] = {0, 0, 0};
    void Clear(void * = nullptr) { x[0] = x[1] = x[2] = 0; }
    void AddWithWeight(Point const &p, double w) {
        for (int i = 0; i < 3; ++i) x[i] += w * p.x[i];
    }
};

struct Cage {
    std::vector<Point> at, uv;
    std::vector<int> counts, corners, uvCorners, creases;
    std::vector<float> sharpness;
};

static Cage read(char const *path) {
    Cage cage;
    std::ifstream in(path);
    for (std::string line; std::getline(in, line);) {
        std::istringstream words(line);
        std::string kind;
        words >> kind;
        if (kind == "v" || kind == "vt") {
            Point p;
            for (double &c : p.x) words >> c;
            (kind == "v" ? cage.at : cage.uv).push_back(p);
        } else if (kind == "#crease") {
            int a, b;
            float s;
            words >> a >> b >> s;
            cage.creases.push_back(a - 1);
            cage.creases.push_back(b - 1);
            cage.sharpness.push_back(s);
        } else if (kind == "f") {
            int n = 0, v, t;
            for (std::string corner; words >> corner; ++n) {
                cage.corners.push_back(std::atoi(corner.c_str()) - 1);
                auto slash = corner.find('/');
                if (slash != std::string::npos) cage.uvCorners.push_back(std::atoi(corner.c_str() + slash + 1) - 1);
            }
            cage.counts.push_back(n);
        }
    }
    return cage;
}

static void print(char const *path, char const *kind, int steps, char const *boundary, int faces,
                  std::vector<std::array<double, 5>> rows, int columns) {
    std::string name(path);
    std::sort(rows.begin(), rows.end());
    std::printf("block %s %s %d %s faces %d rows %zu\n", name.c_str(), kind, steps, boundary, faces, rows.size());
    for (auto &row : rows) {
        for (int i = 0; i < columns; ++i) std::printf(i ? " %.12g" : "%.12g", row[i]);
        std::printf("\n");
    }
}

static void run(char const *path, int steps, bool corner) {
    Cage cage = read(path);
    Far::TopologyDescriptor::FVarChannel channel;
    channel.numValues = (int)cage.uv.size();
    channel.valueIndices = cage.uvCorners.data();
    Far::TopologyDescriptor described;
    described.numVertices = (int)cage.at.size();
    described.numFaces = (int)cage.counts.size();
    described.numVertsPerFace = cage.counts.data();
    described.vertIndicesPerFace = cage.corners.data();
    described.numCreases = (int)cage.sharpness.size();
    described.creaseVertexIndexPairs = cage.creases.data();
    described.creaseWeights = cage.sharpness.data();
    bool mapped = !cage.uvCorners.empty();
    if (mapped) {
        described.numFVarChannels = 1;
        described.fvarChannels = &channel;
    }
    Sdc::Options options;
    options.SetVtxBoundaryInterpolation(corner ? Sdc::Options::VTX_BOUNDARY_EDGE_AND_CORNER
                                               : Sdc::Options::VTX_BOUNDARY_EDGE_ONLY);
    options.SetFVarLinearInterpolation(Sdc::Options::FVAR_LINEAR_BOUNDARIES);
    typedef Far::TopologyRefinerFactory<Far::TopologyDescriptor> Factory;
    Far::TopologyRefiner *refiner = Factory::Create(described, Factory::Options(Sdc::SCHEME_CATMARK, options));
    Far::TopologyRefiner::UniformOptions uniform(steps);
    uniform.fullTopologyInLastLevel = true;
    refiner->RefineUniform(uniform);
    Far::PrimvarRefinerReal<double> primvars(*refiner);
    std::vector<Point> at = cage.at, uv = cage.uv;
    for (int level = 1; level <= steps; ++level) {
        std::vector<Point> next(refiner->GetLevel(level).GetNumVertices());
        primvars.Interpolate(level, at, next);
        at.swap(next);
        if (mapped) {
            std::vector<Point> values(refiner->GetLevel(level).GetNumFVarValues(0));
            primvars.InterpolateFaceVarying(level, uv, values, 0);
            uv.swap(values);
        }
    }
    auto const &last = refiner->GetLevel(steps);
    char const *boundary = corner ? "edge-and-corner" : "edge-only";
    auto rows = [](std::vector<Point> const &points) {
        std::vector<std::array<double, 5>> out;
        for (auto &p : points) out.push_back({p.x[0], p.x[1], p.x[2], 0, 0});
        return out;
    };
    if (mapped) {
        std::set<std::array<double, 5>> pairs;
        for (int f = 0; f < last.GetNumFaces(); ++f) {
            auto vertices = last.GetFaceVertices(f);
            auto values = last.GetFaceFVarValues(f, 0);
            for (int k = 0; k < vertices.size(); ++k) {
                Point const &p = at[vertices[k]], &t = uv[values[k]];
                pairs.insert({p.x[0], p.x[1], p.x[2], t.x[0], t.x[1]});
            }
        }
        print(path, "uv", steps, boundary, last.GetNumFaces(), {pairs.begin(), pairs.end()}, 5);
    } else {
        print(path, "steps", steps, boundary, last.GetNumFaces(), rows(at), 3);
        if (cage.creases.empty()) {
            std::vector<Point> limit(at.size());
            primvars.Limit(at, limit);
            print(path, "limit", steps, boundary, last.GetNumFaces(), rows(limit), 3);
        }
    }
    delete refiner;
}

int main(int count, char **paths) {
    std::printf("# OpenSubdiv %d.%d.%d, made by opensubdiv.cpp\n", OPENSUBDIV_VERSION_MAJOR, OPENSUBDIV_VERSION_MINOR,
                OPENSUBDIV_VERSION_PATCH);
    for (int i = 1; i < count; ++i)
        for (int steps = 1; steps <= 2; ++steps)
            for (bool corner : {false, true}) run(paths[i], steps, corner);
}

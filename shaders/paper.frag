// Paper: kraft with fibres, in the light that reaches it. Inputs, spaces and units: README.md.
//
// Compiled once for each set of GRAIN, SHADOW, SEAM and LIT that a picture needs: software renderers work through
// every branch for every pixel.

#ifdef SHADOW
uniform highp sampler2DShadow shadowMap;
uniform float shadow;
in vec3 dark;
in vec3 inLight;
#endif
#ifdef GRAIN
uniform sampler2D grainMap;
uniform float grainLevel;
#endif
#ifdef SEAM
uniform vec4 seamFirst;
uniform vec2 seamLast;
uniform float seamLap;
#endif
#ifdef LIT
uniform vec3 litTone;
uniform vec4 litBand;
#endif

in vec3 bright;
in vec2 chart;
flat in uint flags;

out vec4 colour;

const uint LIT_FLAG = 1u;
const uint SEAM_FLAG = 2u;
const uint INNER_FLAG = 4u;

#ifdef SEAM
// The seam: the edge of the overlap as a fine line, with the step's soft shade beside it. 1: plain paper.
float seam() {
    uint ply = (flags >> 3u) & 7u;
    float middle = ply < 4u ? seamFirst[int(ply)] : seamLast[int(ply) - 4];
    // Outside one edge of the overlap shows, inside the other.
    float side = (flags & INNER_FLAG) != 0u ? -1.0 : 1.0;
    float off = (chart.x - middle) * side - 0.5 * seamLap;
    float px = max(fwidth(chart.x), 1e-4);
    float line = 1.0 - smoothstep(0.0, 1.0, abs(off) / (0.25 + 0.8 * px));
    float shade = off > 0.0 ? exp2(-off * 0.5) : 0.0;
    return 1.0 - 0.22 * line - 0.06 * shade;
}
#endif

void main() {
    vec3 paper = bright;
#ifdef SHADOW
    // Four texels of depth, weighted.
    paper = mix(bright, dark, shadow * (1.0 - texture(shadowMap, inLight)));
#endif
    float light = paper.g;
#ifdef GRAIN
    vec2 g = textureLod(grainMap, chart * vec2(1.0 / 110.0, 1.0 / 150.0), grainLevel).rg - 0.5;
    paper *= 1.0 + g.r * 0.21 + g.g * 0.06;
#endif
#ifdef SEAM
    if ((flags & SEAM_FLAG) != 0u) {
        paper *= seam();
    }
#endif
#ifdef LIT
    if ((flags & LIT_FLAG) != 0u
        && chart.x >= litBand.x && chart.x <= litBand.y
        && (chart.y <= litBand.z || chart.y >= litBand.w)) {
        // A tint for the eye and a hatch for whoever does not see the tint.
        float across = chart.x + chart.y;
        float stripe = abs(fract(across / 9.0) - 0.5) * 2.0;
        float soft = clamp(fwidth(across) / 4.5, 0.02, 1.0);
        float hatch = smoothstep(0.62 - soft, 0.62 + soft, stripe);
        paper = mix(paper, litTone * (0.45 + light), 0.30 + 0.50 * hatch);
    }
#endif
    colour = vec4(paper, 1.0);
}

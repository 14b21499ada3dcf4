// The table: wood or slate, fading into the background, with the sack's shadow. Inputs, spaces and units: README.md.
//
// Compiled with GRAIN or without, or with KEPT for a table that is copied from a picture of it; and with SHADOW for the cell
// where it may lie.

#ifdef SHADOW
uniform sampler2D footprintMap;
in vec2 onMap;
#endif
#ifdef GRAIN
uniform sampler2D grainMap;
#endif
#ifdef KEPT
uniform sampler2D kept;
#endif

in vec2 place;
in vec2 away;

out vec4 colour;

void main() {
    // In sRGB throughout: a table needs no light of its own, and no roots.
#ifdef KEPT
    vec3 table = texelFetch(kept, ivec2(gl_FragCoord.xy), 0).rgb;
#else
    float fade = max(1.0 - dot(away, away), 0.0);
    float shade = 1.0;
#ifdef GRAIN
    vec2 g = textureLod(grainMap, place * vec2(1.0 / 1100.0, 1.0 / 330.0), tableLevel).gb - 0.5;
    shade += mix(g.x * 0.16, g.y * 0.08, wood);
#endif
    vec3 table = mix(backgroundTone, tableTone * shade, fade * fade);
#endif
#ifdef SHADOW
    vec2 near = textureLod(footprintMap, onMap, 2.0).rg;
    table *= 1.0 - shadow * max(near.r * 0.6, near.g * 0.75);
#endif
    colour = vec4(table, 1.0);
}

// Paper: a vertex of a ply, patch or sleeve. Inputs, spaces and units: README.md.
//
// Light is worked out here, not per pixel: panels are flat, and bends have vertices enough. Tones are made linear by a
// gamma of 2 for it, and handed on in sRGB again.

in vec3 position;
in ivec4 normal;
in vec2 paper;
in uvec4 tags;
#ifdef STACK
in vec4 stand;
#endif

#ifdef SHADOW
out vec3 dark;
out vec3 inLight;
#endif
out vec3 bright;
out vec2 chart;
flat out uint flags;

const uint BEND = 64u;

#ifdef STACK
// A copy of the sack, turned by quarter turns and put in its place.
vec3 turned(vec3 v) {
    vec2 turn = vec2[4](vec2(1.0, 0.0), vec2(0.0, 1.0), vec2(-1.0, 0.0), vec2(0.0, -1.0))[int(stand.w + 0.5) & 3];
    return vec3(v.x * turn.x - v.y * turn.y, v.x * turn.y + v.y * turn.x, v.z);
}
#else
const vec4 stand = vec4(0.0);
vec3 turned(vec3 v) {
    return v;
}
#endif

void main() {
    vec3 n = turned(vec3(normal.xyz) / 32767.0);
    vec3 at = turned(position) + stand.xyz;
    float key = dot(n, keyDirection);
    // A little light from where one looks, so that what faces away from the lamp can be read too.
    vec3 ambient = mix(groundLight, skyLight, n.z * 0.5 + 0.5) + groundLight * (0.35 * max(dot(n, sight), 0.0));
    // Kraft has a faint sheen along the light.
    float sheen = 0.045 * pow(max(dot(n, halfway), 0.0), 16.0);
    vec3 srgb = vec3(tags.rgb) / 255.0;
    vec3 tone = srgb * srgb;
    vec3 shaded = tone * ambient;
    bright = sqrt(shaded + keyLight * max(key, 0.0) * (tone + sheen));
    chart = paper;
    flags = tags.a;
#ifdef SHADOW
    dark = sqrt(shaded);
    // Shadow is looked up a little off the surface, more where light grazes it: paper must not shadow itself.
    float lift = sign(key) * shadowOffset * (1.35 - abs(key));
    inLight = (lightFromSpace * vec4(at + n * lift, 1.0)).xyz;
#endif
    gl_Position = clipFromSpace * vec4(at, 1.0);
    if ((flags & BEND) != 0u) {
        vec4 back = clipFromSpace * vec4(at - sight * bendBack, 1.0);
        gl_Position.z = back.z / back.w * gl_Position.w;
    }
}

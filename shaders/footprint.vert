// The sack's shadow on the table, thrown along the light or straight down. Inputs, spaces and units: README.md.

uniform vec2 slide;

in vec3 position;
#ifdef STACK
in vec4 stand;
#endif

out float height;

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
    vec3 p = turned(position) + stand.xyz;
    height = p.z - middle.z;
    vec2 at = (p.xy - slide * height - footprint.xy) / footprint.zw;
    gl_Position = vec4(at * 2.0 - 1.0, 0.0, 1.0);
}

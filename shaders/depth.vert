// The sack as the key light sees it, for the shadow map. Inputs, spaces and units: README.md.

in vec3 position;
#ifdef STACK
in vec4 stand;
#endif

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
    vec3 p = (lightFromSpace * vec4(turned(position) + stand.xyz, 1.0)).xyz;
    gl_Position = vec4(p * 2.0 - 1.0, 1.0);
}

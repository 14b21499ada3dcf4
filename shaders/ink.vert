// Lines of ink: one ribbon of two triangles per line, as wide on the screen as it should be. Inputs, spaces and
// units: README.md.

uniform float behind;
uniform float pull;

in vec4 from;
in vec4 to;
in ivec4 up;
in ivec4 over;
in uvec4 style;

out float along;
flat out vec4 tone;
flat out vec4 edge;

const ivec2 CORNERS[4] = ivec2[4](ivec2(0, -1), ivec2(1, -1), ivec2(1, 1), ivec2(0, 1));

void main() {
    ivec2 corner = CORNERS[gl_VertexID];
    bool rim = style.y != 0u;
    // A sharp fold is an outline as a cut is.
    float faint = style.x != 0u ? 1.0 - float(up.w) / 32767.0 : 0.0;
    float width = (rim ? widths.z : mix(widths.x, widths.y, faint)) * pixel;
    tone = vec4(rim ? rimTone : inkTone, rim ? 1.0 : mix(1.0, creaseInk, faint));
    // A fold lies on two panels: the one that faces the eye carries the line, at its own height.
    vec3 n = vec3(up.xyz) / 32767.0;
    vec3 m = vec3(over.xyz) / 32767.0;
    bool other = dot(m, sight) > dot(n, sight);
    n = other ? m : n;
    vec3 rise = n * (other ? to.w : from.w);
    vec3 start = from.xyz + rise;
    vec4 a = clipFromSpace * vec4(start, 1.0);
    vec4 b = clipFromSpace * vec4(to.xyz + rise, 1.0);
    // Behind the eye, not wanted in this pass, or on the far side of its sheet: no ribbon at all.
    bool bent = up.w != 0 && style.x == 0u;
    bool away = !bent && dot(n, sight) < -0.1;
    if (a.w < 1e-3 || b.w < 1e-3 || (behind > 0.0 ? style.z == 0u : away)) {
        gl_Position = vec4(2.0, 2.0, 2.0, 1.0);
        along = 0.0;
        edge = vec4(0.0);
        return;
    }
    vec2 pa = (a.xy / a.w * 0.5 + 0.5) * canvas;
    vec2 pb = (b.xy / b.w * 0.5 + 0.5) * canvas;
    vec2 way = pb - pa;
    float length = max(length(way), 1e-6);
    way /= length;
    vec2 across = vec2(-way.y, way.x);
    // Round a bend one half of a cut's line is behind the bend.
    float halfWidth = width * (bent ? 0.8 : 0.5);
    edge = vec4(across, -dot(across, pa), halfWidth);
    // A pixel more on both sides, for the soft edge.
    float reach = halfWidth + 1.0;
    vec4 p = corner.x == 0 ? a : b;
    vec2 offset = across * float(corner.y) * reach + way * (float(corner.x) - 0.5) * width;
    // The canvas measures 2 in clip space.
    p.xy += offset * 2.0 / canvas * p.w;
    // The ribbon lies in the plane of its sheet: a flat ribbon would dip under a sheet that is seen aslant.
    vec4 plane = clipPlaneFromPlane * vec4(n, -dot(n, start));
    float z = -dot(plane.xyw, p.xyw) / plane.z;
    float most = steepest * p.w;
    p.z = clamp(z, p.z - most, p.z + most) - pull * p.w;
    if (bent) {
        p.z += sharpBack * p.w;
    }
    along = corner.x == 0 ? 0.0 : length / pixel;
    gl_Position = p;
}

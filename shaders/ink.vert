// Lines of ink: one ribbon of two triangles per line, as wide on the screen as it should be. Inputs, spaces and
// units: README.md.

uniform mat4 clipFromSpace;
uniform mat4 clipPlaneFromPlane;
uniform vec3 sight;
uniform vec2 canvas;
uniform float pixel;
uniform vec4 widths;
uniform vec3 cutTone;
uniform vec4 creaseTone;
uniform vec3 rimTone;
uniform float behind;
uniform float pull;
uniform float steepest;
uniform float sharpBack;

in vec3 from;
in vec3 to;
in ivec4 up;
in uvec4 style;

out float along;
flat out vec4 tone;

const ivec2 CORNERS[6] = ivec2[6](
    ivec2(0, -1), ivec2(1, -1), ivec2(1, 1), ivec2(0, -1), ivec2(1, 1), ivec2(0, 1));

void main() {
    ivec2 corner = CORNERS[gl_VertexID];
    bool rim = style.y != 0u;
    bool crease = style.x != 0u;
    float width = rim ? widths.z : (crease ? widths.y : widths.x);
    tone = rim ? vec4(rimTone, 1.0) : (crease ? creaseTone : vec4(cutTone, 1.0));
    vec4 a = clipFromSpace * vec4(from, 1.0);
    vec4 b = clipFromSpace * vec4(to, 1.0);
    vec3 n = vec3(up.xyz) / 32767.0;
    // Behind the eye, not wanted in this pass, or on the far side of its sheet: no ribbon at all.
    bool away = up.w == 0 && dot(n, sight) < -0.1;
    if (a.w < 1e-3 || b.w < 1e-3 || (behind > 0.0 ? style.z == 0u : away)) {
        gl_Position = vec4(2.0, 2.0, 2.0, 1.0);
        along = 0.0;
        return;
    }
    vec2 pa = a.xy / a.w * canvas;
    vec2 pb = b.xy / b.w * canvas;
    vec2 way = pb - pa;
    float length = max(length(way), 1e-6);
    way /= length;
    // On a sharp fold one half of the ribbon is behind the fold.
    float reach = (up.w == 0 ? 0.5 : 0.8) * width * pixel;
    vec4 p = corner.x == 0 ? a : b;
    // The canvas measures 2 in clip space: half a width across is a whole one.
    vec2 offset = vec2(-way.y, way.x) * float(corner.y) * reach + way * (float(corner.x) - 0.5) * reach;
    p.xy += offset * 2.0 / canvas * p.w;
    // The ribbon lies in the plane of its sheet: a flat ribbon would dip under a sheet that is seen aslant.
    vec4 plane = clipPlaneFromPlane * vec4(n, -dot(n, from));
    float z = -dot(plane.xyw, p.xyw) / plane.z;
    float most = steepest * p.w;
    p.z = clamp(z, p.z - most, p.z + most) - pull * p.w;
    if (up.w != 0 && !crease) {
        p.z += sharpBack * p.w;
    }
    along = corner.x == 0 ? 0.0 : length * 0.5 / pixel;
    gl_Position = p;
}

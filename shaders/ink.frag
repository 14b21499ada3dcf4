// Lines of ink, with soft edges; what lies behind paper is dashed. Along its line the ink also mends the stairs of what
// is drawn beneath: a pixel that the line cuts through takes over as much of its neighbour beyond the line as the
// neighbour has of it. Inputs, spaces and units: README.md.

uniform float behind;
uniform sampler2D picture;

in float along;
flat in vec4 tone;
flat in vec4 edge;

out vec4 colour;

void main() {
    float off = dot(edge.xy, gl_FragCoord.xy) + edge.z;
    float dash = behind > 0.0 ? step(fract(along / 9.0), 0.55) * 0.75 : 1.0;
    float ink = tone.a * dash * clamp(edge.w + 0.5 - abs(off), 0.0, 1.0);
    // How far the line is from the pixel's middle, along the axis that it crosses more steeply.
    bool sideways = abs(edge.x) > abs(edge.y);
    float to = -off / (sideways ? edge.x : edge.y);
    float beyond = behind > 0.0 ? 0.0 : max(0.5 - abs(to), 0.0);
    ivec2 neighbour = ivec2(gl_FragCoord.xy) + ivec2(sign(to)) * (sideways ? ivec2(1, 0) : ivec2(0, 1));
    vec3 there = texelFetch(picture, clamp(neighbour, ivec2(0), textureSize(picture, 0) - 1), 0).rgb;
    // Premultiplied: first the neighbour, then the ink.
    colour = vec4(there * (beyond * (1.0 - ink)) + tone.rgb * ink, 1.0 - (1.0 - beyond) * (1.0 - ink));
}

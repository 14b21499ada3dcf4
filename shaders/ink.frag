// Lines of ink; what lies behind paper is dashed. Inputs, spaces and units: README.md.

uniform float behind;

in float along;
flat in vec4 tone;

out vec4 colour;

void main() {
    float dash = behind > 0.0 ? step(fract(along / 9.0), 0.55) : 1.0;
    colour = vec4(tone.rgb, tone.a * dash * (behind > 0.0 ? 0.75 : 1.0));
}

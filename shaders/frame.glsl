// What all of a picture is drawn with, one buffer for every program: a call for each value costs more than the values. A
// number behind a vec3 fills its fourth place. Spaces and units: README.md.

layout(std140) uniform Frame {
    mat4 clipFromSpace;
    mat4 clipPlaneFromPlane;
    mat4 lightFromSpace;
    vec4 footprint;
    vec4 litBand;
    vec4 seamFirst;
    vec2 seamLast;
    vec2 canvas;
    vec3 keyDirection;
    float shadowOffset;
    vec3 keyLight;
    float bendBack;
    vec3 skyLight;
    float paperLevel;
    vec3 groundLight;
    float tableLevel;
    vec3 sight;
    float relief;
    vec3 halfway;
    float shadow;
    vec3 litTone;
    float seamLap;
    vec3 inkTone;
    float creaseInk;
    vec3 rimTone;
    float pixel;
    vec3 widths;
    float steepest;
    vec3 middle;
    float sharpBack;
    vec3 tableTone;
    float reach;
    vec3 backgroundTone;
    float wood;
};

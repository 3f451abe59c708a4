"""The proposed berm: form, limit surface, easing, conforming mesh."""

"""Photos of coil and nameplate, read in on the form, freed from place and time, and kept beside the case."""

import streamlit as st

from calibration.files.photo import PHOTO_ENDINGS, clean_photo
from dashboard.file_names import file_stem
from dashboard.web import screen, session
from dashboard.web.form.fields import Form

PHOTOS = {"coil_photo": "Photo of the coil", "nameplate_photo": "Photo of the nameplate"}


def photo_uploads(form: Form) -> None:
    """A place for each photo."""
    st.caption("Photos are made small and freed from the place and time that a camera writes into them.")
    for name, words in PHOTOS.items():
        file = st.file_uploader(words, type=[ending[1:] for ending in PHOTO_ENDINGS], key=f"upload_{name}")
        if file is None or st.session_state.get(f"taken_{name}") == file.file_id:
            continue
        unit = form.draft.text(("unit", "name"), form.system)
        try:
            photo = clean_photo(file.getvalue())
            kept = session.workspace().keep_file(f"{file_stem(f'{unit} {words}')}.jpg", photo)
        except (OSError, ValueError) as problem:
            screen.problems("This photo cannot be used", [str(problem)])
            continue
        st.session_state[f"taken_{name}"] = file.file_id
        form.draft.put(("report", name), kept, form.system)
        form.draft.show_anew()
        st.rerun()

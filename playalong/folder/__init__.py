"""The folder that a build fills: names, whole files, manifest, record."""

"""Settings of Streamlit for the pages: this computer only, nothing sent anywhere, our own colours.

`coiltoll app` hands them over from any folder, and has Streamlit read no file (see `dashboard.web.server`):
what is not here is as Streamlit has it. `.streamlit/config.toml` holds the same for those who start Streamlit
by itself from the repository.
"""

SETTINGS: dict[str, str | int | bool | list[str]] = {
    "server.headless": True,
    "server.address": "127.0.0.1",
    "server.fileWatcherType": "none",
    "server.maxUploadSize": 50,
    "server.baseUrlPath": "",
    "server.enableCORS": True,
    "server.corsAllowedOrigins": [],
    "server.enableXsrfProtection": True,
    "server.enableStaticServing": False,
    "server.enableAgentApi": False,
    "server.scriptHealthCheckEnabled": False,
    "server.runOnSave": False,
    "server.showEmailPrompt": False,
    "browser.gatherUsageStats": False,
    "browser.serverAddress": "localhost",
    "client.toolbarMode": "minimal",
    "client.showErrorDetails": "none",
    "client.showErrorLinks": False,
    "client.allowedOrigins": [],
    "runner.magicEnabled": False,
    "secrets.files": [],
    "theme.base": "light",
    "theme.primaryColor": "#0a6577",
    "theme.backgroundColor": "#ffffff",
    "theme.secondaryBackgroundColor": "#f1f4f3",
    "theme.textColor": "#1b2630",
    "theme.linkColor": "#0a6577",
    "theme.font": "sans-serif",
    "theme.headingFont": "sans-serif",
    "theme.codeFont": "monospace",
    "theme.baseRadius": "0.35rem",
}

WORKSPACE_VARIABLE = "COILTOLL_WORKSPACE"  # environment variable that names the folder of case files
USUAL_WORKSPACE = "workspace"  # folder of case files where none is named, in the current folder
READ_ONLY_VARIABLE = (
    "COILTOLL_READ_ONLY"  # environment variable that, where it is 1, keeps the pages from writing
)

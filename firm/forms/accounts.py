"""Forms for log-in and passwords."""

from typing import Any, ClassVar

from django.contrib.auth.forms import AuthenticationForm


class LogInForm(AuthenticationForm):
    """Name and password."""

    error_messages: ClassVar = {
        "invalid_login": "That name and password don't belong together. Capitals count.",
        "inactive": "This log-in is switched off. The owner can switch it on again.",
    }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["username"].label = "Log-in name"

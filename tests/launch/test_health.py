"""The page that containers and load balancers ask."""

import pytest
from django.test import Client


@pytest.mark.django_db
def test_health_answers_ok_when_the_database_does(client: Client) -> None:
    answer = client.get("/health/")
    assert (answer.status_code, answer.content) == (200, b"ok")

# One image for the pages, the background work and its clock.
FROM python:3.11-slim

ENV PYTHONUNBUFFERED=1 PYTHONDONTWRITEBYTECODE=1
RUN groupadd --system --gid 900 teamroom \
    && useradd --system --uid 900 --gid teamroom --home-dir /app --shell /usr/sbin/nologin teamroom \
    && mkdir /data && chown teamroom:teamroom /data

WORKDIR /app
COPY requirements.txt .
RUN pip install --no-cache-dir --require-hashes --requirement requirements.txt

COPY . .
# The key is for this step alone: nothing is signed while static files are gathered.
RUN SECRET_KEY=for-gathering-static-files STATIC_ROOT=/app/static TEAMROOM_DATA=/app/unused \
    python manage.py collectstatic --noinput --verbosity 0

ENV STATIC_ROOT=/app/static TEAMROOM_DATA=/data
USER teamroom
EXPOSE 8000
CMD ["uvicorn", "teamroom.asgi:application", "--host", "0.0.0.0", "--port", "8000", "--no-proxy-headers"]
